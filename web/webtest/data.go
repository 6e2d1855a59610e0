package webtest

import (
	"context"
	"fmt"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/wetness"
	"plotwarden/store"
	"plotwarden/weather"
)

// Data is a store in memory. A set Err is returned by every method.
type Data struct {
	Rounds  map[string]store.Round
	Status  []store.SourceStatus
	Weather *weather.Series
	Done    []garden.Treatment
	Seen    []garden.Scouting
	Full    []garden.Record
	Past    []plan.Assessment
	Err     error
}

// NewData returns the data of the invented garden.
func NewData() *Data {
	g := Garden(false)
	return &Data{Seen: g.Scoutings, Done: g.Treatments, Rounds: map[string]store.Round{"mill-lane": Round()}, Status: Status(), Weather: Weather()}
}

// Treatments returns what was done.
func (d *Data) Treatments(context.Context, string) ([]garden.Treatment, error) { return d.Done, d.Err }

// Records returns the log with all its fields.
func (d *Data) Records(context.Context, string) ([]garden.Record, error) { return d.Full, d.Err }

// Scoutings returns what was seen.
func (d *Data) Scoutings(context.Context, string) ([]garden.Scouting, error) { return d.Seen, d.Err }

// AssessmentHistory returns past days' assessments.
func (d *Data) AssessmentHistory(context.Context, string, string, civil.Date, civil.Date) ([]plan.Assessment, error) {
	return d.Past, d.Err
}

// LatestRound returns the round of a site.
func (d *Data) LatestRound(_ context.Context, site string) (store.Round, error) {
	if d.Err != nil {
		return store.Round{}, d.Err
	}
	r, ok := d.Rounds[site]
	if !ok {
		return store.Round{}, fmt.Errorf("round of %s: %w", site, store.ErrNotFound)
	}
	return r, nil
}

// Sources returns the sources' status.
func (d *Data) Sources(context.Context, string) ([]store.SourceStatus, error) { return d.Status, d.Err }

// LoadWeather returns the hours.
func (d *Data) LoadWeather(_ context.Context, _ string, from, to time.Time) (*weather.Series, error) {
	if d.Err != nil || d.Weather == nil {
		return nil, d.Err
	}
	return d.Weather.Slice(d.Weather.Index(from), d.Weather.Index(to)), nil
}

// Status returns a source that is well and one that fails.
func Status() []store.SourceStatus {
	now := Now()
	return []store.SourceStatus{
		{Site: "mill-lane", Source: "open-meteo", LastTry: now.Add(-3 * time.Hour), LastGood: now.Add(-3 * time.Hour)},
		{Site: "mill-lane", Source: "own station", LastTry: now.Add(-10 * time.Minute), LastGood: now.Add(-43 * time.Hour),
			LastErr: "decode the station's answer: an HTML page came with status 200", Cause: "html-body", Consecutive: 12},
	}
}

// Weather returns hours from yesterday to three days ahead with a gap, rain on
// the third day, and two origins.
func Weather() *weather.Series {
	start := Today.AddDays(-1).Start(Loc())
	s := weather.NewSeries(start, 5*24)
	analysis, err := s.AddOrigin(weather.Origin{Source: "open-meteo", Kind: weather.Analysis, Fetched: Now().Add(-3 * time.Hour)})
	forecast, err2 := s.AddOrigin(weather.Origin{Source: "open-meteo", Kind: weather.Forecast, Issued: Now().Add(-5 * time.Hour), Fetched: Now().Add(-3 * time.Hour)})
	if err != nil || err2 != nil {
		panic("two origins always fit")
	}
	for i := range s.Len() {
		if i >= 20 && i < 24 {
			continue // a gap
		}
		o := analysis
		if s.Time(i).After(Now().Add(-4 * time.Hour)) {
			o = forecast
		}
		h := s.Time(i).In(Loc()).Hour()
		swing := float64((h+18)%24-12) / 12
		if swing < 0 {
			swing = -swing
		}
		s.Set(weather.Temp, i, 24-12*swing, o)
		s.Set(weather.RH, i, 55+40*swing, o)
		s.Set(weather.Wind, i, 1+3*(1-swing), o)
		rain := 0.0
		if i >= 70 && i < 80 {
			rain = 1.2
		}
		s.Set(weather.Rain, i, rain, o)
	}
	return s
}

// Wet calls leaves wet from 90 % humidity or rain on, a simple stand-in.
func Wet(s *weather.Series) []wetness.State {
	out := make([]wetness.State, s.Len())
	for i := range out {
		rh, rain := s.Value(weather.RH, i), s.Value(weather.Rain, i)
		switch {
		case rh != rh || rain != rain:
		case rh >= 90 || rain > 0:
			out[i] = wetness.Wet
		default:
			out[i] = wetness.Dry
		}
	}
	return out
}
