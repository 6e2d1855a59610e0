package plan

import (
	"fmt"
	"math"
	"time"

	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

// HourLimits are what an hour must keep to be good for work on the leaves.
type HourLimits struct {
	// DryFor is for how many hours after the work no rain may be due. Material
	// on the user's own label may need longer. Trials on potato and tomato found
	// that rain within 6 hours may remove all (Brazil 2008, confirmed).
	DryFor int
	// MaxWind is the most wind at 10 m, m/s: 10 mph as on many labels (from
	// memory). The label in hand decides.
	MaxWind float64
	// MinTemp and MaxTemp bound the air temperature, C: 40 to 85 F as a general
	// screen (a landscape text that quotes a bulletin; confirmed second-hand).
	MinTemp, MaxTemp float64
}

// DefaultHourLimits returns the limits above.
func DefaultHourLimits() HourLimits {
	return HourLimits{DryFor: 6, MaxWind: 4.47, MinTemp: 4, MaxTemp: 29}
}

// Daylight says whether the sun is up at an instant.
type Daylight func(time.Time) bool

// WorkHours judges the hours of s from one instant to another and joins like
// hours. wet has the leaf wetness of every hour of s.
func WorkHours(s *weather.Series, wet []wetness.State, from, to time.Time, light Daylight, l HourLimits) []Hours {
	var out []Hours
	for i := max(0, s.Index(from)); i < min(s.Len(), s.Index(to)); i++ {
		h := judge(s, wet, i, light, l)
		if n := len(out); n > 0 && same(out[n-1], h) {
			out[n-1].To = h.To
			continue
		}
		out = append(out, h)
	}
	return out
}

func judge(s *weather.Series, wet []wetness.State, i int, light Daylight, l HourLimits) Hours {
	h := Hours{From: s.Time(i), To: s.Time(i + 1)}
	if !light(s.Time(i)) || !light(s.Time(i+1)) {
		h.Why = append(h.Why, "dark")
	}
	temp := s.Value(weather.Temp, i)
	switch {
	case math.IsNaN(temp) || wet[i] == wetness.Unknown:
		h.Unknown = true
	case wet[i] == wetness.Wet:
		h.Why = append(h.Why, "wet leaves")
	}
	switch {
	case temp < l.MinTemp:
		h.Why = append(h.Why, "too cold")
	case temp > l.MaxTemp:
		h.Why = append(h.Why, "too hot")
	}
	if s.Value(weather.Wind, i) > l.MaxWind {
		h.Why = append(h.Why, "wind")
	}
	for j := i; j < min(i+l.DryFor, s.Len()); j++ {
		r := s.Value(weather.Rain, j)
		if r > 0 {
			h.Why = append(h.Why, fmt.Sprintf("rain within %d hours", l.DryFor))
			break
		}
		if math.IsNaN(r) {
			h.Unknown = true
			break
		}
	}
	if h.Unknown && len(h.Why) == 0 {
		h.Why = append(h.Why, "weather missing")
	}
	h.Good = len(h.Why) == 0
	return h
}

func same(a, b Hours) bool {
	if a.Good != b.Good || a.Unknown != b.Unknown || len(a.Why) != len(b.Why) {
		return false
	}
	for i := range a.Why {
		if a.Why[i] != b.Why[i] {
			return false
		}
	}
	return true
}
