package service

import (
	"context"
	"fmt"
	"slices"
	"time"

	"plotwarden/access"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/tuning"
	"plotwarden/store"
	"plotwarden/weather"
)

// Try loads what a region has logged and tries a change over it: Trial, then
// TryTuning. It is what the pages call. heldOut are the years of seasons that
// nobody looked at when the number was chosen.
func (t *Tunings) Try(ctx context.Context, region string, change tuning.Tuning, who access.Who, heldOut []int) (*TuningResult, error) {
	in, err := t.Trial(ctx, region, change, who)
	if err != nil {
		return nil, err
	}
	in.HeldOut = heldOut
	return TryTuning(in)
}

// Trial loads the weather and the log of a region's sites. Of the looks those
// count that may be counted for who asks, and show their place those that may be
// seen.
func (t *Tunings) Trial(ctx context.Context, region string, change tuning.Tuning, who access.Who) (TuningTrial, error) {
	r, err := t.Region(region)
	if err != nil {
		return TuningTrial{}, err
	}
	now := t.Now()
	in := TuningTrial{Region: r.Name, Catalogue: t.Catalogue, Change: change, Today: civil.Of(now, time.UTC)}
	if in.InForce, _, err = t.Changes(ctx, region); err != nil {
		return TuningTrial{}, err
	}
	g := t.Garden()
	for i := range g.Sites {
		if !slices.Contains(r.Sites, g.Sites[i].ID) {
			continue
		}
		s, err := t.site(ctx, &g.Sites[i], now, who)
		if err != nil {
			return TuningTrial{}, err
		}
		in.Sites = append(in.Sites, s)
	}
	return in, nil
}

// recordYears is how far back a site's record is read.
const recordYears = 60

func (t *Tunings) site(ctx context.Context, site *garden.Site, now time.Time, who access.Who) (TuningSite, error) {
	hours, err := t.Data.LoadWeather(ctx, site.ID, now.AddDate(-recordYears, 0, 0).Truncate(time.Hour), now)
	if err != nil {
		return TuningSite{}, fmt.Errorf("load the weather of %s: %w", site.ID, err)
	}
	seen, err := t.Data.Scoutings(ctx, site.ID)
	if err != nil {
		return TuningSite{}, fmt.Errorf("load the log of %s: %w", site.ID, err)
	}
	done, err := t.Data.Treatments(ctx, site.ID)
	if err != nil {
		return TuningSite{}, fmt.Errorf("load the treatments of %s: %w", site.ID, err)
	}
	counted := slices.DeleteFunc(garden.Looks(seen), func(x garden.Scouting) bool { return !who.PoolFind(x) })
	return TuningSite{
		Site: site, Weather: Measured(weather.Derive(hours)), Scoutings: counted, Treatments: done, Named: who.SeeFind,
		Forecasts: func(d civil.Date) *weather.Series { return KeptForecast(ctx, t.Data, site, d) },
	}, nil
}

// Measured cuts off what lies before the first and after the last observed hour.
func Measured(w *weather.Series) *weather.Series {
	observed := func(i int) bool {
		o, ok := w.OriginAt(weather.Temp, i)
		return ok && o.Kind.Observed()
	}
	first, last := 0, w.Len()
	for last > 0 && !observed(last-1) {
		last--
	}
	for first < last && !observed(first) {
		first++
	}
	return w.Slice(first, last)
}

// KeptForecast returns the newest forecast that was issued in the day and a half
// before a local day began; nil when there is none.
func KeptForecast(ctx context.Context, data interface {
	Forecasts(ctx context.Context, site string, from, to time.Time) ([]store.Forecast, error)
}, site *garden.Site, d civil.Date) *weather.Series {
	to := d.Start(site.Location())
	fs, err := data.Forecasts(ctx, site.ID, to.Add(-36*time.Hour), to)
	if err != nil {
		return nil
	}
	newest := store.Forecast{}
	for _, f := range fs {
		if f.Issued.After(newest.Issued) && !f.Issued.After(to) {
			newest = f
		}
	}
	return newest.Series
}
