package outlook

import (
	"fmt"
	"time"

	"plotwarden/civil"
	"plotwarden/risk"
	"plotwarden/risk/model"
	"plotwarden/weather"
)

// before is how many days of measured weather the versions of a forecast keep:
// enough for the rules that look back, at a fraction of the season's cost.
const before = 60

// beforeSums is the same for degree-days, which do not look back: as many days as
// measured weather may be late and still be believed, and some more.
const beforeSums = 10

// Forecasts are the versions of one site's forecast, ready to have the rules of
// its plantings run on each. They are for one goroutine at a time.
type Forecasts struct {
	seasons []*model.Season
	first   civil.Date // first whole day of the versions
	today   civil.Date
}

// NewForecasts takes versions of a site's weather: the same measured hours up to
// now, then each its own forecast, from Versions or from an ensemble.
func NewForecasts(versions []*weather.Series, zone *time.Location, now time.Time) *Forecasts {
	f := &Forecasts{today: civil.Of(now, zone)}
	for _, w := range versions {
		w = w.Slice(w.Index(now)-24*before, w.Len())
		if w.Len() == 0 {
			continue
		}
		f.first = max(f.first, civil.Of(w.Start(), zone).AddDays(1))
		f.seasons = append(f.seasons, model.NewSeason(w, zone, now))
	}
	return f
}

// NewForecastDays is NewForecasts for daily records.
func NewForecastDays(versions [][]weather.Day, zone *time.Location, now time.Time) (*Forecasts, error) {
	f := &Forecasts{today: civil.Of(now, zone)}
	for _, days := range versions {
		if len(days) == 0 {
			continue
		}
		days = days[min(max(0, f.today.Sub(days[0].Date)-before), len(days)-1):]
		f.first = max(f.first, days[0].Date)
		s, err := model.NewDaySeason(days, zone, now)
		if err != nil {
			return nil, fmt.Errorf("version of a forecast: %w", err)
		}
		f.seasons = append(f.seasons, s)
	}
	return f, nil
}

// Runs runs a rule on every version, for NewFan: the tracks begin with the
// versions and not with the season. There are none for a rule that starts after
// today. in is that of the season's own track.
func (f *Forecasts) Runs(spec model.Spec, in model.Input) ([]*risk.Track, error) {
	if in.Start > f.today {
		return nil, nil
	}
	in.Start = max(in.Start, f.first)
	if _, ok := spec.(*model.DegreeDays); ok {
		in.Start = max(in.Start, f.today.AddDays(-beforeSums))
	}
	out := make([]*risk.Track, 0, len(f.seasons))
	for _, s := range f.seasons {
		t, err := s.Run(spec, &in)
		if err != nil {
			return nil, fmt.Errorf("run a version of the forecast: %w", err)
		}
		out = append(out, t)
	}
	return out, nil
}
