package openmeteo

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"plotwarden/weather"
	"plotwarden/weather/source"
)

// Members is the runs of one ensemble forecast for one place.
type Members struct {
	Place       Place
	Cell        source.Place
	Model       string
	Series      []*weather.Series // the control run first; all begin and end together
	Dropped     int               // runs left out because a needed variable was absent or wholly null
	Attribution source.Attribution
}

// maxMembers is more than any ensemble on offer has; names have two digits.
const maxMembers = 99

// assumedMembers is how many runs the default ensemble has. The service counts a
// request's variables once for each run, before they are known to us.
const assumedMembers = 31

// freeBurst is the weight that may go at once at the free addresses. A request for
// runs stays within it, so that the wait between two is the right one.
const freeBurst = 100

// ensembleReserve is the share of the hour's and day's budget that ensembles leave:
// an outlook can do without them, and nothing can do without the forecast.
const ensembleReserve = 0.5

// EnsembleWeight is what the service counts for the runs of one place.
func (c *Client) EnsembleWeight() float64 {
	return weight(1, len(hourlyEnsemble)*assumedMembers, c.c.EnsembleDays)
}

// Ensemble returns the runs of the configured model from today, UTC, on. A run
// may end earlier than the others: its last hours are missing.
func (c *Client) Ensemble(ctx context.Context, now time.Time, place Place) (m Members, err error) {
	c.EachEnsemble(ctx, now, []Place{place}, func(_ int, got Members, gotErr error) { m, err = got, gotErr })
	return m, err
}

// EachEnsemble does what Ensemble does for many places, many in one request and
// those of one grid cell once, and hands over each result with the place's index as
// its request is answered. Places of one cell share the Series, which must not be
// changed. It leaves half of the budget to forecasts.
func (c *Client) EachEnsemble(ctx context.Context, now time.Time, places []Place, give func(i int, m Members, err error)) {
	good := make([]Place, 0, len(places))
	index := make([]int, 0, len(places))
	for i, p := range places {
		if err := p.Validate(); err != nil {
			give(i, c.members(p), source.Errorf(c.Name(), source.BadRequest, "%w", err))
			continue
		}
		good, index = append(good, p), append(index, i)
	}
	for _, b := range batches(groups(good, c.c.Cell, c.c.ElevBand), min(c.c.Batch, max(1, int(freeBurst/c.EnsembleWeight())))) {
		rs, errs := c.ensembleBatch(ctx, now, b)
		for j, g := range b {
			for _, m := range g.members {
				r := rs[j]
				r.Place = good[m]
				give(index[m], r, errs[j])
			}
		}
	}
}

func (c *Client) members(p Place) Members {
	return Members{Place: p, Model: c.c.EnsembleModel, Attribution: Attribution}
}

func (c *Client) ensembleBatch(ctx context.Context, now time.Time, b []group) ([]Members, []error) {
	rs, errs := make([]Members, len(b)), make([]error, len(b))
	places := make([]Place, len(b))
	for i, g := range b {
		places[i], rs[i] = g.at, c.members(g.at)
	}
	q := c.query(hourlyEnsemble, places...)
	q.Set("models", c.c.EnsembleModel)
	q.Set("forecast_days", strconv.Itoa(c.c.EnsembleDays))
	_, err := c.ensemble.Get(ctx, source.Request{
		URL: c.c.EnsembleURL, Query: q, Weight: float64(len(b)) * c.EnsembleWeight(), Reserve: ensembleReserve,
		Check: func(resp *source.Response) error {
			as, err := decode(c.Name(), resp.Body, len(b))
			if err != nil {
				return err
			}
			bad := 0
			for i, a := range as {
				if errs[i] = rs[i].read(a, now, resp.At, c.c.EnsembleDays); errs[i] != nil {
					bad++
				}
			}
			if bad == len(b) {
				return errs[0]
			}
			return nil
		},
	})
	if err != nil {
		for i := range b {
			rs[i], errs[i] = c.members(places[i]), err
		}
	}
	return rs, errs
}

func (m *Members) read(a *answer, now, at time.Time, days int) error {
	var err error
	if m.Cell, err = a.cell(m.Place); err != nil {
		return err
	}
	if err := a.readTimes(); err != nil {
		return err
	}
	if err := a.covers(now, 0, days); err != nil {
		return err
	}
	var first error
	for n := 0; n <= maxMembers; n++ {
		suffix := ""
		if n > 0 {
			suffix = fmt.Sprintf("_member%02d", n)
		}
		if _, here := a.Hourly[hourlyEnsemble[0].name+suffix]; !here {
			continue
		}
		if err := a.checkUnits(hourlyEnsemble, suffix); err != nil {
			return err
		}
		s := weather.NewSeries(time.Unix(a.times[0]*3600, 0), int(a.times[len(a.times)-1]-a.times[0])+1)
		origin, err := pastAndAhead(s, a.name+" "+m.Model, now, at)
		if err != nil {
			return source.Errorf(a.name, source.BadJSON, "%w", err)
		}
		missing, err := a.fill(s, hourlyEnsemble, suffix, origin)
		if err != nil {
			return err
		}
		if err := lacking(a.name, hourlyEnsemble, suffix, missing); err != nil {
			m.Dropped++
			if first == nil {
				first = err
			}
			continue
		}
		m.Series = append(m.Series, s)
	}
	switch {
	case len(m.Series) > 0:
		return nil
	case first != nil:
		return first
	}
	return source.Errorf(a.name, source.MissingVariable, "no run of %s has %s", m.Model, hourlyEnsemble[0].name)
}
