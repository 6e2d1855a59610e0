package model

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/weather"
)

// Whatever the missing hours were, the track of the whole weather lies within
// the bounds of the track of the weather with holes.
func TestBoundsHoldTheTruth(t *testing.T) {
	specs := examples(t)
	rapid.Check(t, func(t *rapid.T) {
		whole := weatherWithoutHoles(t)
		in := drawnInput(t, whole)
		holed := whole.Slice(0, whole.Len())
		wholeDays := rapid.Bool().Draw(t, "whole days")
		for range rapid.IntRange(1, 4).Draw(t, "holes") {
			if wholeDays {
				ws := whole.Windows(in.Zone, 0, false)
				w := ws[rapid.IntRange(0, len(ws)-1).Draw(t, "day")]
				for i := max(0, w.From); i < min(w.To, whole.Len()); i++ {
					for v := range weather.NumVars {
						holed.Set(v, i, math.NaN(), 1)
					}
				}
				continue
			}
			v := rapid.SampledFrom([]weather.Var{weather.Temp, weather.RH, weather.Rain, weather.Wind}).Draw(t, "column")
			from := rapid.IntRange(0, whole.Len()-1).Draw(t, "from")
			for i := from; i < min(whole.Len(), from+rapid.IntRange(1, 12).Draw(t, "hours")); i++ {
				holed.Set(v, i, math.NaN(), 1)
				if v == weather.RH { // the dew point would give it away
					holed.Set(weather.DewPoint, i, math.NaN(), 1)
				}
			}
		}
		late := rapid.Bool().Draw(t, "late")
		if late { // the weather begins within a day
			holed = holed.Slice(rapid.IntRange(0, min(30, whole.Len()-1)).Draw(t, "late by"), whole.Len())
			in.Irrigated = nil // their indices would move
		}
		for _, s := range specs {
			if byExtremes(s) && (late || !wholeDays) {
				continue // up to 4 hours of a day may be missing without the day counting as unknown
			}
			in.Weather = whole
			want, err := s.Run(in)
			require.NoError(t, err)
			in.Weather = holed
			got, err := s.Run(in)
			require.NoError(t, err)
			require.Len(t, got.Points, len(want.Points))
			for i, p := range got.Points {
				truth := want.Points[i].Total
				require.LessOrEqual(t, p.Low, truth+1e-9, "%s %s", s.Kind(), p.Date)
				require.GreaterOrEqual(t, p.High, truth-1e-9, "%s %s", s.Kind(), p.Date)
				require.LessOrEqual(t, p.Low, p.Total+1e-9, "%s %s", s.Kind(), p.Date)
				require.GreaterOrEqual(t, p.High, p.Total-1e-9, "%s %s", s.Kind(), p.Date)
				require.GreaterOrEqual(t, p.Value, 0.0)
				require.GreaterOrEqual(t, p.Low, 0.0)
			}
			if want.Complete() {
				for _, p := range want.Points {
					require.True(t, p.Low == p.Total && p.Total == p.High, "%s %s: a complete track has one total", s.Kind(), p.Date)
				}
			}
		}
	})
}

func byExtremes(s Spec) bool {
	switch s.(type) {
	case *DegreeDays, *PDays, *FavourableDays, *SprayMatrix, *BlossomHeat:
		return true
	}
	return false
}

func weatherWithoutHoles(t *rapid.T) *weather.Series {
	s := drawnSeries(t, rapid.IntRange(24, 24*16).Draw(t, "hours"))
	for v := range weather.NumVars {
		for i := 0; i < s.Len(); i++ {
			if s.Column(v) != nil && math.IsNaN(s.Value(v, i)) {
				s.Set(v, i, map[weather.Var]float64{weather.Temp: 15, weather.RH: 92, weather.DewPoint: 13, weather.Soil: 12}[v], 1)
			}
		}
	}
	return s
}
