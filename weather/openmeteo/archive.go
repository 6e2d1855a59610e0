package openmeteo

import (
	"context"
	"time"

	"plotwarden/civil"
	"plotwarden/weather"
	"plotwarden/weather/source"
)

// Archive returns the hours of the days from and to, both included, UTC, from
// the archive service. All are Analysis. It lags some days: the last ones may
// be missing. Long stretches are asked for by the year.
func (c *Client) Archive(ctx context.Context, place Place, from, to civil.Date) (Result, error) {
	r := Result{Place: place, Attribution: Attribution}
	if err := place.Validate(); err != nil {
		return r, source.Errorf(c.Name(), source.BadRequest, "%w", err)
	}
	if from.IsZero() || to < from || from.Year() < 1940 || to.Sub(from) > 36600 {
		return r, source.Errorf(c.Name(), source.BadRequest, "want days from 1940 on, in order, not %s to %s", from, to)
	}
	s := weather.NewSeries(from.Start(time.UTC), 24*(to.Sub(from)+1))
	missing := map[string]int{}
	chunks := 0
	for a := from; a <= to; chunks++ {
		// One day more than wanted: the total of its first label belongs to the
		// last hour of the day before.
		b := min(civil.New(a.Year(), 12, 31), to)
		if err := c.archiveChunk(ctx, &r, s, a, b.AddDays(1), missing); err != nil {
			return r, err
		}
		a = b.AddDays(1)
	}
	for _, v := range hourlyArchive {
		if missing[v.name] == chunks {
			r.Missing = append(r.Missing, v.name)
		}
	}
	if err := lacking(c.Name(), hourlyArchive, "", r.Missing); err != nil {
		return r, err
	}
	if err := source.CheckClock(c.Name(), s, r.Cell.Lat, r.Cell.Lon); err != nil {
		return r, err
	}
	r.Series = s
	return r, nil
}

func (c *Client) archiveChunk(ctx context.Context, r *Result, s *weather.Series, from, to civil.Date, missing map[string]int) error {
	q := c.query(hourlyArchive, r.Place)
	q.Set("start_date", from.String())
	q.Set("end_date", to.String())
	_, err := c.archive.Get(ctx, source.Request{
		URL: c.c.ArchiveURL, Query: q, Weight: weight(1, len(hourlyArchive), to.Sub(from)+1),
		Check: func(resp *source.Response) error {
			as, err := decode(c.Name(), resp.Body, 1)
			if err != nil {
				return err
			}
			a := as[0]
			if r.Cell, err = a.cell(r.Place); err != nil {
				return err
			}
			if err = a.readTimes(); err != nil {
				return err
			}
			if err = a.checkUnits(hourlyArchive, ""); err != nil {
				return err
			}
			if first := from.Start(time.UTC).Unix() / 3600; a.times[0] != first {
				return source.Errorf(c.Name(), source.BadTime, "asked for hours from %s, got %s", hourText(first), hourText(a.times[0]))
			}
			o, err := s.AddOrigin(weather.Origin{Source: c.Name(), Kind: weather.Analysis, Fetched: resp.At})
			if err != nil {
				return source.Errorf(c.Name(), source.BadJSON, "%w", err)
			}
			names, err := a.fill(s, hourlyArchive, "", func(int) uint8 { return o })
			for _, n := range names {
				missing[n]++
			}
			return err
		},
	})
	return err
}
