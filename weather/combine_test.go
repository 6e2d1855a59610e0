package weather

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestDerive(t *testing.T) {
	s := with(series(ownStation, Temp, 25, 25, missing, 25, 25), ownStation, RH, 80, missing, 80, 0, 50)
	s = with(s, ownStation, DewPoint, missing, 21.3094, missing, missing, 30)
	out := Derive(s)
	// Source: npm psychrolib, 25 C and 80 % are a dew point of 21.3094 C.
	assert.InDelta(t, 21.3094, out.Value(DewPoint, 0), 1e-4)
	assert.InDelta(t, 80, out.Value(RH, 1), 1e-3)
	assert.True(t, math.IsNaN(out.Value(DewPoint, 2)), "no temperature")
	assert.True(t, math.IsNaN(out.Value(DewPoint, 3)), "no dew point of dry air")
	assert.Equal(t, 50.0, out.Value(RH, 4), "nothing is overruled")
	o, _ := out.OriginAt(DewPoint, 0)
	assert.Equal(t, ownStation, o)

	later := grid
	later.Fetched = start2026
	for name, c := range map[string]struct{ temp, rh, want Origin }{
		"two sources":             {ownStation, grid, Origin{Source: "grid + garden", Kind: Analysis}},
		"two sources, other way":  {grid, ownStation, Origin{Source: "grid + garden", Kind: Analysis}},
		"one source at two times": {grid, later, grid},
		"analysis and forecast":   {grid, Origin{Source: "grid", Kind: Forecast}, Origin{Source: "grid", Kind: Forecast}},
		"a gap was filled":        {Origin{Source: "garden", Kind: Interpolated}, ownStation, Origin{Source: "garden", Kind: Interpolated}},
	} {
		d := Derive(with(series(c.temp, Temp, 20), c.rh, RH, 60))
		got, ok := d.OriginAt(DewPoint, 0)
		assert.True(t, ok, name)
		assert.Equal(t, c.want, got, name)
	}
}

func forecastAt(hour int) Origin {
	at := start2026.Add(time.Duration(hour) * time.Hour)
	return Origin{Source: "grid", Kind: Forecast, Issued: at, Fetched: at.Add(time.Hour)}
}

func TestCombineTakesTheMostTrusted(t *testing.T) {
	nearby := Origin{Source: "airport", Kind: Nearby}
	nan := missing
	station := with(series(ownStation, Temp, 10, 11, nan, nan), ownStation, DewPoint, 8, nan, nan, nan)
	airport := series(nearby, Temp, 12, 12, 12, nan)
	past := with(series(grid, Temp, 13, 13, 13, 13), grid, RH, 50, 50, 50, 50)
	old := series(forecastAt(-24), Temp, 14, 14, 14, 14, 14, 14)
	fresh := series(forecastAt(0), Temp, 15, 15, 15, 15, 15)
	filled := series(Origin{Source: "garden", Kind: Interpolated}, Temp, 16, 16, 16, 16, 16, 16, 16)
	made := series(modelled, Temp, 17, 17, 17, 17, 17, 17, 17, 17)
	got, err := Combine(made, filled, old, nil, fresh, past, airport, station, NewSeries(start2026, 0))
	require.NoError(t, err)
	assert.Equal(t, []float64{10, 11, 12, 13, 15, 14, 16, 17}, got.Column(Temp))
	var kinds []Kind
	for i := range got.Len() {
		o, ok := got.OriginAt(Temp, i)
		require.True(t, ok)
		kinds = append(kinds, o.Kind)
	}
	assert.Equal(t, []Kind{Station, Station, Nearby, Analysis, Forecast, Forecast, Interpolated, Modelled}, kinds)
	o, _ := got.OriginAt(Temp, 4)
	assert.Equal(t, forecastAt(0), o, "provenance is kept whole")
	// The station gives a dew point, from which its humidity follows.
	assert.InDelta(t, RelHumidity(10, 8), got.Value(RH, 0), 1e-9)
	o, _ = got.OriginAt(RH, 0)
	assert.Equal(t, ownStation, o)
	o, _ = got.OriginAt(RH, 1)
	assert.Equal(t, grid, o, "each variable for itself")
	assert.Nil(t, got.Column(Rain))
}

func TestCombineBreaksTies(t *testing.T) {
	noIssue := Origin{Source: "b", Kind: Forecast, Fetched: start2026.Add(30 * time.Minute)}
	for name, c := range map[string]struct {
		a, b Origin
		want float64
	}{
		"issued later":               {forecastAt(0), forecastAt(1), 2},
		"issued earlier":             {forecastAt(1), forecastAt(0), 1},
		"fetched after the issue":    {forecastAt(0), noIssue, 2},
		"fetched before the issue":   {forecastAt(1), noIssue, 1},
		"alike but for their source": {Origin{Source: "a", Kind: Station}, Origin{Source: "b", Kind: Station}, 1},
	} {
		got, err := Combine(series(c.a, Temp, 1), series(c.b, Temp, 2))
		require.NoError(t, err)
		assert.Equal(t, c.want, got.Value(Temp, 0), name)
	}
}

func TestCombineSpansAndGaps(t *testing.T) {
	a := series(ownStation, Temp, 1, 2)
	b := late(series(ownStation, Temp, 5, 6), 4)
	got, err := Combine(b, a)
	require.NoError(t, err)
	assert.Equal(t, start2026, got.Start())
	assert.Equal(t, 6, got.Len())
	assert.True(t, math.IsNaN(got.Value(Temp, 3)))
	assert.Equal(t, 5.0, got.Value(Temp, 4))
	got, err = Combine()
	require.NoError(t, err)
	assert.Zero(t, got.Len())
}

func TestCombineManyOrigins(t *testing.T) {
	hourly := func(source func(i int) string) []*Series {
		var out []*Series
		for i := range 300 {
			o := Origin{Source: source(i), Kind: Station, Fetched: start2026.Add(time.Duration(i) * time.Hour)}
			out = append(out, late(series(o, Temp, float64(i)), i))
		}
		return out
	}
	got, err := Combine(hourly(func(int) string { return "garden" })...)
	require.NoError(t, err, "one source fetched 300 times")
	assert.Equal(t, 299.0, got.Value(Temp, 299))
	o, ok := got.OriginAt(Temp, 299)
	assert.True(t, ok)
	assert.Equal(t, "garden", o.Source)
	_, err = Combine(hourly(func(i int) string { return fmt.Sprint("station ", i) })...)
	assert.EqualError(t, err, "combine temperature: more than 255 sources and kinds")
}

func TestCombineProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var in []*Series
		for k := range rapid.IntRange(0, 5).Draw(t, "series") {
			o := Origin{Source: fmt.Sprint("s", k), Kind: Kind(rapid.IntRange(1, 6).Draw(t, "kind")), Issued: start2026.Add(time.Duration(rapid.IntRange(-3, 3).Draw(t, "issued")) * time.Hour)}
			s := NewSeries(start2026.Add(time.Duration(rapid.IntRange(-10, 10).Draw(t, "start"))*time.Hour), rapid.IntRange(0, 20).Draw(t, "hours"))
			h, _ := s.AddOrigin(o)
			for i := range s.Len() {
				if rapid.Bool().Draw(t, "known") {
					s.Set(Temp, i, rapid.Float64Range(-10, 30).Draw(t, "temp"), h)
				}
			}
			in = append(in, s)
		}
		got, err := Combine(in...)
		if err != nil {
			t.Fatal(err)
		}
		for i := -30; i < 60; i++ {
			at := start2026.Add(time.Duration(i) * time.Hour)
			var want Origin
			known := false
			for _, s := range in {
				if o, ok := s.OriginAt(Temp, s.Index(at)); ok && (!known || preference(o, want) < 0) {
					want, known = o, true
				}
			}
			have, ok := got.OriginAt(Temp, got.Index(at))
			if ok != known || have != want {
				t.Fatalf("%v: got %v, want %v", at, have, want)
			}
		}
	})
}

func TestLastObserved(t *testing.T) {
	s := series(ownStation, Temp, 10, 11, missing, missing, missing)
	h, err := s.AddOrigin(forecastAt(0))
	require.NoError(t, err)
	s.Set(Temp, 2, 12, h)
	s.Set(Temp, 3, 13, h)
	at := func(hours float64) time.Time { return start2026.Add(time.Duration(hours * float64(time.Hour))) }
	assert.Equal(t, at(2), LastObserved(s, at(10)))
	assert.Equal(t, at(2), LastObserved(s, at(2)))
	assert.Equal(t, at(1.5), LastObserved(s, at(1.5)), "not after now")
	assert.Equal(t, at(1), LastObserved(s, at(0.5)).Add(30*time.Minute), "the second hour has not begun")
	assert.True(t, LastObserved(s, at(-1)).IsZero())
	assert.True(t, LastObserved(NewSeries(start2026, 0), at(1)).IsZero())
	for kind, observed := range map[Kind]bool{Station: true, Nearby: true, Analysis: true, Forecast: false, Interpolated: false, Modelled: false} {
		assert.Equal(t, !observed, LastObserved(series(Origin{Kind: kind}, Temp, 1), at(5)).IsZero(), kind)
	}
}

func BenchmarkCombineYear(b *testing.B) {
	in := []*Series{leapYear(ownStation), leapYear(grid), leapYear(forecastAt(0)), leapYear(forecastAt(6))}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Combine(in...); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/8784, "ns/hour")
}
