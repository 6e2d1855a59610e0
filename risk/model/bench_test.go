package model

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/weather"
)

// benchSeason is a leap year of hours, the last 16 days of it forecast.
func benchSeason(t require.TestingT, n int) *weather.Series {
	s := weather.NewSeries(civil.New(2024, 1, 1).Start(time.UTC), n)
	past, err := s.AddOrigin(weather.Origin{Source: "a", Kind: weather.Analysis})
	require.NoError(t, err)
	ahead, err := s.AddOrigin(weather.Origin{Source: "a", Kind: weather.Forecast})
	require.NoError(t, err)
	seed := uint64(88172645463325252)
	next := func() float64 {
		seed ^= seed << 13
		seed ^= seed >> 7
		seed ^= seed << 17
		return float64(seed>>11) / (1 << 53)
	}
	front := 0.0
	for i := range n {
		o := past
		if i >= 8784-16*24 {
			o = ahead
		}
		if i%24 == 0 {
			front = 0.7*front + 6*(next()-0.5)
		}
		hour, year := 2*math.Pi*float64(i%24-9)/24, 2*math.Pi*(float64(i)/8784-0.3)
		temp := 11 + 12*math.Sin(year) + 5*math.Sin(hour) + front + next()
		rh := min(100, 78-18*math.Sin(hour)+3*front+6*next())
		s.Set(weather.Temp, i, temp, o)
		s.Set(weather.RH, i, rh, o)
		s.Set(weather.DewPoint, i, weather.DewPointFromRH(temp, rh), o)
		s.Set(weather.Wind, i, 1+4*next(), o)
		s.Set(weather.Soil, i, 11+10*math.Sin(year), o)
		rain := 0.0
		if front > 2 && next() < 0.2 {
			rain = 3 * next()
		}
		s.Set(weather.Rain, i, rain, o)
	}
	return s
}

// benchSpecs stands for a catalogue: 60 degree-day rules of 20 different
// thresholds and the other kinds.
func benchSpecs(t require.TestingT) []Spec {
	out := examples(t)
	for i := range 60 {
		method, cutoff := "average", "lower: "+fmt.Sprint(40+i%20)
		switch i % 3 {
		case 1:
			method, cutoff = "average-clip-each", cutoff+", upper: 86"
		case 2:
			method, cutoff = "single-sine", cutoff+", upper: 88, cutoff: horizontal"
		}
		out = append(out, decode(t, "degree-days", fmt.Sprintf("{method: %s, %s, unit: F, start: {kind: calendar, day: 01-01, standing: confirmed}, stages: [{name: a, value: 300}, {name: b, value: 900}, {name: c, value: 1500}]}", method, cutoff)))
	}
	return out
}

func benchInput(w *weather.Series) *Input {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		panic(err)
	}
	return &Input{Weather: w, Zone: zone, Start: civil.New(2024, 1, 1), Now: w.Time(8784 - 16*24)}
}

// BenchmarkSeasons runs many rules over one site-season of 8,784 hours.
func BenchmarkSeasons(b *testing.B) {
	specs, in := benchSpecs(b), benchInput(benchSeason(b, 8784))
	b.ReportAllocs()
	for b.Loop() {
		RunAll(specs, in)
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "site-seasons/s")
	b.ReportMetric(float64(len(specs)), "rules")
}

// BenchmarkKinds runs one rule of each kind by itself on a shared season.
func BenchmarkKinds(b *testing.B) {
	in := benchInput(benchSeason(b, 8784))
	for i, s := range examples(b) {
		b.Run(fmt.Sprintf("%02d-%s", i, s.Kind()), func(b *testing.B) {
			in.Season = NewSeason(in.Weather, in.Zone, in.Now)
			if _, err := s.Run(in); err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			for b.Loop() {
				clear(in.Season.columns)
				_, _ = s.Run(in)
			}
		})
	}
}
