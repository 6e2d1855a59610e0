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

// Ensemble returns the runs of the configured model from today, UTC, on. A run
// may end earlier than the others: its last hours are missing.
func (c *Client) Ensemble(ctx context.Context, now time.Time, place Place) (Members, error) {
	m := Members{Place: place, Model: c.c.EnsembleModel, Attribution: Attribution}
	if err := place.Validate(); err != nil {
		return m, source.Errorf(c.Name(), source.BadRequest, "%w", err)
	}
	q := c.query(hourlyEnsemble, place)
	q.Set("models", c.c.EnsembleModel)
	q.Set("forecast_days", strconv.Itoa(c.c.EnsembleDays))
	_, err := c.ensemble.Get(ctx, source.Request{
		URL: c.c.EnsembleURL, Query: q, Weight: weight(1, len(hourlyEnsemble), c.c.EnsembleDays),
		Check: func(resp *source.Response) error {
			as, err := decode(c.Name(), resp.Body, 1)
			if err != nil {
				return err
			}
			return m.read(as[0], now, resp.At, c.c.EnsembleDays)
		},
	})
	return m, err
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
