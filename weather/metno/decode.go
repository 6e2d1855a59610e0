package metno

import (
	"math"
	"time"

	"plotwarden/weather"
	"plotwarden/weather/source"
)

// value is one value of the state of the air at a time.
type value struct {
	name   string
	to     weather.Var
	unit   string
	needed bool
}

var instants = []value{
	{"air_temperature", weather.Temp, "celsius", true},
	{"relative_humidity", weather.RH, "%", true},
	{"dew_point_temperature", weather.DewPoint, "celsius", false},
	{"wind_speed", weather.Wind, "m/s", false},
	{"cloud_area_fraction", weather.Cloud, "%", false},
}

const (
	rainAmount = "precipitation_amount"
	rainChance = "probability_of_precipitation"
	farKm      = 50
	maxHours   = 24 * 16 // the service ends after ten days
)

type details struct {
	Details map[string]*float64 `json:"details"`
}

type step struct {
	Time time.Time `json:"time"`
	Data struct {
		Instant details  `json:"instant"`
		Next1   *details `json:"next_1_hours"`
		Next6   *details `json:"next_6_hours"`
	} `json:"data"`
}

type answer struct {
	Geometry struct {
		Coordinates []float64 `json:"coordinates"`
	} `json:"geometry"`
	Properties struct {
		Meta struct {
			Updated time.Time         `json:"updated_at"`
			Units   map[string]string `json:"units"`
		} `json:"meta"`
		Steps []step `json:"timeseries"`
	} `json:"properties"`
}

func (c *Client) decode(body []byte, p source.Place, now, fetched time.Time) (Result, error) {
	out := Result{Place: p, Attribution: Attribution}
	var a answer
	if err := source.DecodeJSON(c.Name(), body, &a); err != nil {
		return out, err
	}
	steps := a.Properties.Steps
	if err := c.check(&a, p, now); err != nil {
		return out, err
	}
	out.Issued = a.Properties.Meta.Updated.UTC()
	first, last := steps[0].Time, steps[len(steps)-1].Time
	s := weather.NewSeries(first.UTC(), int(last.Sub(first)/time.Hour)+1)
	said := weather.Origin{Source: c.Name(), Kind: weather.Forecast, Issued: out.Issued, Fetched: fetched}
	drawn := said
	drawn.Kind = weather.Interpolated
	forecast, err1 := s.AddOrigin(said)
	between, err2 := s.AddOrigin(drawn)
	if err1 != nil || err2 != nil {
		return out, source.Errorf(c.Name(), source.BadJSON, "more origins than a series holds")
	}
	for _, v := range instants {
		if !fillState(s, steps, v, forecast, between) {
			if v.needed {
				return out, source.Errorf(c.Name(), source.MissingVariable, "%s", v.name)
			}
			out.Missing = append(out.Missing, v.name)
		}
	}
	if !fillPeriods(s, steps, rainAmount, weather.Rain, true, forecast) {
		return out, source.Errorf(c.Name(), source.MissingVariable, "%s", rainAmount)
	}
	if !fillPeriods(s, steps, rainChance, weather.RainChance, false, forecast) {
		out.Missing = append(out.Missing, rainChance)
	}
	out.Series = s
	return out, nil
}

// check looks at everything but the values.
func (c *Client) check(a *answer, p source.Place, now time.Time) error {
	m, steps := a.Properties.Meta, a.Properties.Steps
	switch {
	case len(steps) == 0:
		return source.Errorf(c.Name(), source.NoData, "no times in the answer")
	case m.Updated.IsZero():
		return source.Errorf(c.Name(), source.BadTime, "no updated_at in the answer")
	case now.Sub(m.Updated) > c.c.MaxAge:
		return source.Errorf(c.Name(), source.Stale, "the forecast was made %s, %.0f hours ago; more than %.0f is too old", m.Updated.Format(time.RFC3339), now.Sub(m.Updated).Hours(), c.c.MaxAge.Hours())
	}
	for i, s := range steps {
		if s.Time.Unix()%3600 != 0 || s.Time.Nanosecond() != 0 || i > 0 && !s.Time.After(steps[i-1].Time) || s.Time.Sub(steps[0].Time) > maxHours*time.Hour {
			return source.Errorf(c.Name(), source.BadTime, "time %d, %s, is off the hour, out of order or too far", i+1, s.Time.Format(time.RFC3339))
		}
	}
	if last := steps[len(steps)-1].Time; last.Before(now) {
		return source.Errorf(c.Name(), source.Stale, "the forecast ended at %s", last.Format(time.RFC3339))
	}
	for _, v := range append([]value{{name: rainAmount, unit: "mm"}, {name: rainChance, unit: "%"}}, instants...) {
		if u, has := m.Units[v.name]; has && u != v.unit || !has && holds(steps, v.name) {
			return source.Errorf(c.Name(), source.WrongUnit, "%s: want %s, got %q", v.name, v.unit, u)
		}
	}
	if at := a.Geometry.Coordinates; len(at) >= 2 {
		if d := p.DistanceKm(source.Place{Lat: at[1], Lon: at[0]}); !(d <= farKm) {
			return source.Errorf(c.Name(), source.WrongPlace, "asked for %.3f, %.3f; the answer is for %.3f, %.3f", p.Lat, p.Lon, at[1], at[0])
		}
	}
	return nil
}

// holds says whether any step has the value at all.
func holds(steps []step, name string) bool {
	for _, s := range steps {
		for _, d := range []*details{&s.Data.Instant, s.Data.Next1, s.Data.Next6} {
			if d != nil && d.Details[name] != nil {
				return true
			}
		}
	}
	return false
}

// maxDrawn is the longest distance of two times between which a line is drawn.
const maxDrawn = 6

// fillState writes a value at its times, and the straight line between.
func fillState(s *weather.Series, steps []step, v value, forecast, between uint8) (got bool) {
	had, hadAt := math.NaN(), 0
	for _, st := range steps {
		x := st.Data.Instant.Details[v.name]
		if x == nil {
			continue
		}
		at := s.Index(st.Time)
		if n := at - hadAt; got && n > 1 && n <= maxDrawn {
			for h := 1; h < n; h++ {
				s.Set(v.to, hadAt+h, had+(*x-had)*float64(h)/float64(n), between)
			}
		}
		s.Set(v.to, at, *x, forecast)
		had, hadAt, got = *x, at, true
	}
	return got
}

// fillPeriods writes a value of periods: that of the next hour, or else that of
// the next six, as far as the next time. A total of six hours is spread; a
// chance holds for each. Periods of six hours at hourly times overlap, so they
// are never added up.
func fillPeriods(s *weather.Series, steps []step, name string, to weather.Var, total bool, forecast uint8) (got bool) {
	for i, st := range steps {
		at := s.Index(st.Time)
		if d := st.Data.Next1; d != nil && d.Details[name] != nil {
			s.Set(to, at, *d.Details[name], forecast)
			got = true
			continue
		}
		d := st.Data.Next6
		if d == nil || d.Details[name] == nil {
			continue
		}
		x := *d.Details[name]
		if total {
			x /= 6
		}
		end := at + 6
		if i+1 < len(steps) {
			end = min(end, s.Index(steps[i+1].Time))
		}
		for h := at; h < min(end, s.Len()); h++ {
			s.Set(to, h, x, forecast)
		}
		got = true
	}
	return got
}
