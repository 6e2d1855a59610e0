package openmeteo

import (
	"context"
	"strconv"
	"time"

	"plotwarden/weather"
	"plotwarden/weather/source"
)

// Place is where weather is wanted.
type Place = source.Place

// Result is the weather of one place, or why there is none.
type Result struct {
	Place       Place
	Series      *weather.Series    // nil with Err; places that share a cell share it, so it must not be changed
	Cell        source.Place       // the grid cell that answered, with the height in use
	Missing     []string           // variables that we can do without and did not get
	Attribution source.Attribution // to be shown beside the data
	Err         error              // a *source.Error
}

// Forecast returns the past pastDays (0 to 92) and the forecastDays (1 to 16)
// from today, UTC, for each place, in the order given. Hours before now are
// Analysis, from now on Forecast. A request that fails fails its places only.
func (c *Client) Forecast(ctx context.Context, now time.Time, places []Place, pastDays, forecastDays int) []Result {
	out := make([]Result, len(places))
	c.Each(ctx, now, places, pastDays, forecastDays, func(i int, r Result) { out[i] = r })
	return out
}

// Each does what Forecast does and hands over each result, with the place's
// index, as its request is answered, so that ten thousand series need not be
// held at once.
func (c *Client) Each(ctx context.Context, now time.Time, places []Place, pastDays, forecastDays int, give func(i int, r Result)) {
	fail := func(i int, err error) {
		give(i, Result{Place: places[i], Attribution: Attribution, Err: err})
	}
	if pastDays < 0 || pastDays > maxPastDays || forecastDays < 1 || forecastDays > maxForecastDays {
		err := source.Errorf(c.Name(), source.BadRequest, "want 0 to %d past days and 1 to %d forecast days, not %d and %d", maxPastDays, maxForecastDays, pastDays, forecastDays)
		for i := range places {
			fail(i, err)
		}
		return
	}
	good := make([]Place, 0, len(places))
	index := make([]int, 0, len(places))
	for i, p := range places {
		if err := p.Validate(); err != nil {
			fail(i, source.Errorf(c.Name(), source.BadRequest, "%w", err))
			continue
		}
		good, index = append(good, p), append(index, i)
	}
	gs := groups(good, c.c.Cell, c.c.ElevBand)
	if h := c.c.Source.Hooks.Shared; h != nil && len(good) > 0 {
		h(c.Name(), len(good), len(gs))
	}
	for _, b := range batches(gs, c.c.Batch) {
		rs, err := c.forecastBatch(ctx, now, b, pastDays, forecastDays)
		for j, g := range b {
			for _, m := range g.members {
				if err != nil {
					fail(index[m], err)
					continue
				}
				r := rs[j]
				r.Place = good[m]
				give(index[m], r)
			}
		}
	}
}

// forecastBatch returns one result a group, or the error that fails them all.
func (c *Client) forecastBatch(ctx context.Context, now time.Time, b []group, past, ahead int) ([]Result, error) {
	places := make([]Place, len(b))
	for i, g := range b {
		places[i] = g.at
	}
	q := c.query(hourlyForecast, places...)
	q.Set("past_days", strconv.Itoa(past))
	q.Set("forecast_days", strconv.Itoa(ahead))
	var rs []Result
	_, err := c.forecast.Get(ctx, source.Request{
		URL: c.c.ForecastURL, Query: q, Weight: weight(len(b), len(hourlyForecast), past+ahead),
		Check: func(resp *source.Response) error {
			as, err := decode(c.Name(), resp.Body, len(b))
			if err != nil {
				return err
			}
			rs = make([]Result, len(b))
			bad := 0
			for i, a := range as {
				rs[i] = c.result(a, places[i], now, resp.At, past, ahead)
				if rs[i].Err != nil {
					bad++
				}
			}
			if bad == len(b) {
				return rs[0].Err
			}
			return nil
		},
	})
	return rs, err
}

// result turns one answer into one place's weather.
func (c *Client) result(a *answer, p Place, now, at time.Time, past, ahead int) Result {
	r := Result{Place: p, Attribution: Attribution}
	if r.Cell, r.Err = a.cell(p); r.Err != nil {
		return r
	}
	if r.Err = a.readTimes(); r.Err != nil {
		return r
	}
	if r.Err = a.checkUnits(hourlyForecast, ""); r.Err != nil {
		return r
	}
	if r.Err = a.covers(now, past, ahead); r.Err != nil {
		return r
	}
	s := weather.NewSeries(time.Unix(a.times[0]*3600, 0), int(a.times[len(a.times)-1]-a.times[0])+1)
	origin, err := pastAndAhead(s, c.Name(), now, at)
	if err != nil {
		r.Err = source.Errorf(c.Name(), source.BadJSON, "%w", err)
		return r
	}
	if r.Missing, r.Err = a.fill(s, hourlyForecast, "", origin); r.Err != nil {
		return r
	}
	if r.Err = lacking(c.Name(), hourlyForecast, "", r.Missing); r.Err != nil {
		return r
	}
	if r.Err = source.CheckClock(c.Name(), s, r.Cell.Lat, r.Cell.Lon); r.Err == nil {
		r.Series = s
	}
	return r
}

// midnight is how near to midnight, UTC, the service may still count, or count
// already, from the other day.
const midnight = 15 * time.Minute

// covers checks the answer's hours against those asked for, with a day of grace
// at the ends that can only shorten or lengthen it. An answer that begins
// earlier is an old one served again: the status does not tell.
func (a *answer) covers(now time.Time, past, ahead int) error {
	day := func(t time.Time) int64 { return t.UTC().Truncate(24*time.Hour).Unix() / 3600 }
	early, late := day(now.Add(-midnight)), day(now.Add(midnight))
	first, last := a.times[0], a.times[len(a.times)-1]
	back, on := int64(24*past), int64(24*ahead)-1
	cause := ""
	switch {
	case first < early-back:
		cause = source.Stale
	case first > late-back+24, last < early+on-24, last > late+on+24:
		cause = source.BadTime
	default:
		return nil
	}
	return source.Errorf(a.name, cause, "asked for %s to %s, got %s to %s", hourText(early-back), hourText(early+on), hourText(first), hourText(last))
}

// pastAndAhead adds two origins to s and returns the one for hour i.
func pastAndAhead(s *weather.Series, name string, now, fetched time.Time) (func(i int) uint8, error) {
	analysis, err := s.AddOrigin(weather.Origin{Source: name, Kind: weather.Analysis, Fetched: fetched})
	if err != nil {
		return nil, err
	}
	forecast, err := s.AddOrigin(weather.Origin{Source: name, Kind: weather.Forecast, Fetched: fetched})
	if err != nil {
		return nil, err
	}
	from := s.Index(now)
	return func(i int) uint8 {
		if i < from {
			return analysis
		}
		return forecast
	}, nil
}
