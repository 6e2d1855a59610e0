package plan

import (
	"math"

	"plotwarden/garden"
	"plotwarden/weather"
)

// FillWeather puts the weather of the hour in which the work began into a record,
// from the site's series, and says where it came from. It changes nothing that
// the person saw. Where the series has nothing of that hour the record says
// nothing. elevation is the site's, m.
func FillWeather(r *garden.Record, s *weather.Series, elevation float64) {
	i := s.Index(r.Start)
	w := garden.HourWeather{
		Temp: known2(s.Value(weather.Temp, i)), RH: known2(s.Value(weather.RH, i)), Wind: known2(s.Value(weather.Wind, i)),
		Rain: known2(s.Value(weather.Rain, i)), Cloud: known2(s.Value(weather.Cloud, i)),
	}
	p := weather.Pressure(elevation)
	if math.IsNaN(p) {
		p = weather.Pressure(0)
	}
	w.DeltaT = known2(weather.DeltaT(s.Value(weather.Temp, i), s.Value(weather.RH, i), p))
	for v := range weather.NumVars {
		if o, ok := s.OriginAt(v, i); ok {
			w.Source = o.Source + " (" + o.Kind.String() + ")"
			break
		}
	}
	if w == (garden.HourWeather{}) {
		r.Weather = nil
		return
	}
	r.Weather = &w
}

// known2 rounds to two digits, as a record is read; nil when not known.
func known2(x float64) *float64 {
	if math.IsNaN(x) {
		return nil
	}
	x = math.Round(x*100) / 100
	return &x
}
