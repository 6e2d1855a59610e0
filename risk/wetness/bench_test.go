package wetness

import (
	"math"
	"testing"

	"plotwarden/garden"
	"plotwarden/weather"
)

// season makes n hours with a day and a year in them and rain now and then.
func season(n int) *weather.Series {
	temp, rh, dew, rain, wind, wet := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range temp {
		day, year := math.Sin(2*math.Pi*float64(i)/24), math.Sin(2*math.Pi*float64(i)/8766)
		temp[i] = 12 + 12*year + 6*day
		rh[i] = math.Min(100, 78-18*day+7*math.Sin(float64(i)/17))
		dew[i] = weather.DewPointFromRH(temp[i], rh[i])
		wind[i] = 3 + 2*math.Sin(float64(i)/31)
		if i%97 < 5 {
			rain[i] = 0.8
		}
		if rh[i] > 90 {
			wet[i] = 1
		}
	}
	return hours(n, map[weather.Var][]float64{weather.Temp: temp, weather.RH: rh, weather.DewPoint: dew, weather.Rain: rain, weather.Wind: wind, weather.Wetness: wet})
}

func BenchmarkEstimate8784Hours(b *testing.B) {
	s := season(8784)
	out := make([]State, s.Len())
	for _, m := range []Method{Humidity, DewPointDepression, ExtendedHumidity, Tree, Measured} {
		b.Run(string(m), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				out = Rule{Method: m}.Estimate(s, garden.NoCover, nil, out)
			}
		})
	}
	noDew := season(8784)
	for i := range noDew.Len() {
		noDew.Set(weather.DewPoint, i, math.NaN(), 0)
	}
	b.Run("tree without a dew point", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			out = Rule{Method: Tree}.Estimate(noDew, garden.NoCover, nil, out)
		}
	})
}

// A refresh adds a day: its cost against computing the season again.
func BenchmarkUpdateOneDayOf8784Hours(b *testing.B) {
	s := season(8784)
	r := Rule{Method: Tree}
	out := r.Estimate(s, garden.NoCover, nil, nil)
	b.ReportAllocs()
	for b.Loop() {
		out = r.Update(s, garden.NoCover, nil, out, s.Len()-24)
	}
}
