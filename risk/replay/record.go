package replay

import (
	"fmt"
	"math"
	"time"

	"plotwarden/civil"
	"plotwarden/risk/model"
	"plotwarden/risk/outlook"
	"plotwarden/weather"
)

// Record is the measured weather of one place over many years: consecutive Days,
// or Hours.
type Record struct {
	Days  []weather.Day
	Hours *weather.Series
	Zone  *time.Location // nil is UTC
	// Forecasts returns the newest forecast that was kept and had been issued when
	// a day began, hours or days from that day on; nil when none was. May be nil.
	Forecasts func(d civil.Date) *weather.Series
}

func (r *Record) zone() *time.Location {
	if r.Zone == nil {
		return time.UTC
	}
	return r.Zone
}

// span returns the first and last whole day.
func (r *Record) span() (first, last civil.Date, err error) {
	switch {
	case r.Hours != nil && r.Hours.Len() > 0:
		return civil.Of(r.Hours.Start().Add(24*time.Hour-1), r.zone()), civil.Of(r.Hours.End(), r.zone()).AddDays(-1), nil
	case len(r.Days) > 0:
		return r.Days[0].Date, r.Days[len(r.Days)-1].Date, nil
	}
	return 0, 0, fmt.Errorf("the record has no weather")
}

// view is what was known when a day began, and the versions of its forecast.
type view struct {
	in       model.Input // Start is the caller's
	versions *outlook.Forecasts
}

// Assumed is how forecasts that were not kept are made up.
type Assumed struct {
	Days     int            // length of a forecast; 0: none was made
	Error    outlook.Error  // of its temperatures, humidity and rain
	Noise    func() float64 // draws of a standard normal distribution; nil: the forecast is perfect
	Versions int            // in how many versions the outlook takes it; 0 is 15

	usual *usual
}

// usually returns what is usual on the days of a forecast.
func (a *Assumed) usually(d civil.Date) outlook.Usual {
	if a.usual == nil {
		return outlook.Usual{}
	}
	return a.usual.at(d, a.Days)
}

// known are the days before a forecast that a version keeps, beside the season's.
const known = 61

// at makes the view of a day.
func (r *Record) at(d civil.Date, a Assumed) (view, error) {
	n := a.Versions
	if n == 0 {
		n = 15
	}
	if r.Hours != nil {
		return r.hoursAt(d, a, n)
	}
	now := d.Start(r.zone())
	i := d.Sub(r.Days[0].Date)
	days := append([]weather.Day(nil), r.Days[:min(len(r.Days), i)]...)
	if kept := r.kept(d); kept != nil {
		days = append(days, forecastDays(kept, d, r.zone())...)
	} else {
		days = a.Error.DrawDays(append(days, r.Days[len(days):min(len(r.Days), i+a.Days)]...), i, a.usually(d), a.Noise)
	}
	v := view{in: model.Input{Days: days, Zone: r.zone(), Now: now}}
	if i >= len(days) {
		return v, nil // no forecast
	}
	recent := days[max(0, i-known):]
	var err error
	v.versions, err = outlook.NewForecastDays(outlook.VersionsOfDays(recent, d, a.Error, n), r.zone(), now)
	return v, err
}

func (r *Record) hoursAt(d civil.Date, a Assumed, n int) (view, error) {
	now := d.Start(r.zone())
	from := r.Hours.Index(now)
	var w *weather.Series
	if kept := r.kept(d); kept != nil {
		w = r.Hours.Slice(0, from).Extend(r.Hours.Start(), kept.End())
		if err := lay(w, kept, from); err != nil {
			return view{}, fmt.Errorf("forecast of %s: %w", d, err)
		}
	} else {
		w = a.Error.Draw(r.Hours.Slice(0, from+24*a.Days), from, a.usually(d), a.Noise)
	}
	v := view{in: model.Input{Weather: w, Zone: r.zone(), Now: now}}
	if from < w.Len() {
		v.versions = outlook.NewForecasts(outlook.Versions(w.Slice(from-24*known, w.Len()), now, a.Error, n), r.zone(), now)
	}
	return v, nil
}

// kept returns the forecast that was kept for a day, or nil.
func (r *Record) kept(d civil.Date) *weather.Series {
	if r.Forecasts == nil {
		return nil
	}
	return r.Forecasts(d)
}

// leastHours is how many hours of a day a forecast must have for its extremes to
// count: the day of issue lacks those before it.
const leastHours = 12

// forecastDays makes daily records of a forecast, from a day on and without a gap.
func forecastDays(f *weather.Series, from civil.Date, zone *time.Location) []weather.Day {
	var out []weather.Day
	for _, w := range f.Windows(zone, 0, false) {
		if w.Date != from.AddDays(len(out)) {
			continue
		}
		d, known := weather.NewDay(w.Date), 0
		for h := max(0, w.From); h < min(w.To, f.Len()); h++ {
			if x := f.Value(weather.Temp, h); !math.IsNaN(x) {
				if known == 0 {
					d.Min, d.Max = x, x
				}
				d.Min, d.Max = min(d.Min, x), max(d.Max, x)
				known++
			}
		}
		if known < leastHours {
			return out
		}
		d.Hours, d.Kind = known, weather.Forecast
		out = append(out, d)
	}
	return out
}

// lay writes the hours of a forecast over a series from an hour on.
func lay(w, forecast *weather.Series, from int) error {
	for i := range forecast.Len() {
		at := w.Index(forecast.Time(i))
		if at < from || at >= w.Len() {
			continue
		}
		for v := range weather.NumVars {
			o, ok := forecast.OriginAt(v, i)
			if !ok {
				continue
			}
			h, err := w.AddOrigin(o)
			if err != nil {
				return err
			}
			w.Set(v, at, forecast.Value(v, i), h)
		}
	}
	return nil
}
