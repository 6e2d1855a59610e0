package station

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/weather"
)

var own = weather.Origin{Source: "own", Kind: weather.Station}

func reading(at, interval time.Duration, values map[weather.Var]float64) Observation {
	o := NewObservation(noon.Add(at))
	o.Interval = interval
	for v, x := range values {
		o.Values[v] = x
	}
	return o
}

func TestHours(t *testing.T) {
	const m = time.Minute
	s := Hours([]Observation{
		reading(20*m, 20*m, map[weather.Var]float64{weather.Temp: 21, weather.Rain: 1, weather.Solar: 300}),
		reading(-4*m, 0, map[weather.Var]float64{weather.Temp: 19}),
		reading(3*m, 0, map[weather.Var]float64{weather.Temp: 20}),
		reading(75*m, 55*m, map[weather.Var]float64{weather.Temp: 22, weather.Rain: 1.1, weather.Solar: 600, weather.Wetness: 1}),
	}, own)
	at := func(v weather.Var, h int) float64 {
		return s.Value(v, s.Index(noon.Add(time.Duration(h)*time.Hour)))
	}
	assert.Equal(t, 20.0, at(weather.Temp, 0), "three minutes past is nearer than four before")
	assert.Equal(t, 22.0, at(weather.Temp, 1), "13:15 is the nearest to 13:00")
	// Of 1.1 mm in 55 minutes, 40 minutes' worth fell before 13:00.
	assert.InDelta(t, 1.8, at(weather.Rain, 0), 1e-9)
	assert.InDelta(t, (300*20+600*40)/60.0, at(weather.Solar, 0), 1e-9)
	assert.True(t, math.IsNaN(at(weather.Rain, 1)), "15 minutes are not an hour")
	assert.True(t, math.IsNaN(at(weather.Wetness, 0)), "40 minutes are not enough either")
	o, _ := s.OriginAt(weather.Temp, 0)
	assert.Equal(t, own, o)
	assert.Equal(t, 0, Hours(nil, own).Len())
	assert.Equal(t, 0, Hours([]Observation{NewObservation(noon)}, own).Len())
}

func TestAReadingSentTwiceCountsOnce(t *testing.T) {
	const m = time.Minute
	var obs []Observation
	for i := 1; i <= 6; i++ {
		o := reading(time.Duration(10*i)*m, 10*m, map[weather.Var]float64{weather.Rain: 0.5})
		obs = append(obs, o, o)
	}
	assert.InDelta(t, 3, Hours(obs, own).Value(weather.Rain, 0), 1e-9)

	// Ten-minute totals sent every five minutes overlap by half.
	obs = nil
	for i := 0; i <= 12; i++ {
		obs = append(obs, reading(time.Duration(5*i)*m, 10*m, map[weather.Var]float64{weather.Rain: 0.5}))
	}
	s := Hours(obs, own)
	assert.InDelta(t, 3, s.Value(weather.Rain, s.Index(noon)), 1e-9)
}

// Where intervals join without a gap, no rain is lost and none is added.
func TestRainIsKeptOverHours(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(t, "readings")
		at := time.Duration(0)
		var total float64
		var obs []Observation
		for range n {
			step := time.Duration(rapid.IntRange(1, 100).Draw(t, "minutes")) * time.Minute
			mm := rapid.Float64Range(0, 5).Draw(t, "mm")
			at += step
			total += mm
			obs = append(obs, reading(at, step, map[weather.Var]float64{weather.Rain: mm}))
		}
		end := noon.Add(at).Truncate(time.Hour).Add(time.Hour)
		if rest := end.Sub(noon.Add(at)); rest > 0 { // fill the last hour
			obs = append(obs, reading(end.Sub(noon), rest, map[weather.Var]float64{weather.Rain: 0}))
		}
		obs = rapid.Permutation(obs).Draw(t, "order")
		s := Hours(obs, own)
		var sum float64
		for i := range s.Len() {
			if x := s.Value(weather.Rain, i); !math.IsNaN(x) {
				sum += x
			}
		}
		if math.Abs(sum-total) > 1e-6 {
			t.Fatalf("%.6f mm in, %.6f out", total, sum)
		}
	})
}

func TestCollector(t *testing.T) {
	c := NewCollector("own")
	for i := 0; i < 12; i++ {
		at := time.Duration(i) * 10 * time.Minute
		c.Add(noon.Add(at), reading(at, 10*time.Minute, map[weather.Var]float64{weather.Temp: float64(i), weather.Rain: 0.1}))
	}
	s := c.Add(noon.Add(2*time.Hour), reading(2*time.Hour, 10*time.Minute, map[weather.Var]float64{weather.Rain: 0.1}))
	assert.InDelta(t, 0.6, s.Value(weather.Rain, s.Index(noon)), 1e-9)
	assert.Equal(t, 6.0, s.Value(weather.Temp, s.Index(noon.Add(time.Hour))))
	o, _ := s.OriginAt(weather.Temp, s.Index(noon.Add(time.Hour)))
	assert.Equal(t, weather.Origin{Source: "own", Kind: weather.Station, Fetched: noon.Add(2 * time.Hour)}, o)
	s = c.Add(noon.Add(100 * time.Hour))
	assert.Equal(t, 0, s.Len(), "old readings are let go")
}

// A year that was mistyped must neither fill the memory nor overflow the span.
func TestReadingsOfAnotherCenturyAreLeftOut(t *testing.T) {
	var obs []Observation
	for _, year := range []int{1900, 2026, 2026, 2200} {
		o := NewObservation(time.Date(year, 6, 1, len(obs), 0, 0, 0, time.UTC))
		o.Interval, o.Values[weather.Rain], o.Values[weather.Temp] = time.Hour, 1, 12
		obs = append(obs, o)
	}
	s := Hours(obs, weather.Origin{Source: "own", Kind: weather.Station})
	assert.Equal(t, 2026, s.Start().Year())
	assert.LessOrEqual(t, s.Len(), 4)
	assert.Equal(t, 1.0, s.Value(weather.Rain, s.Index(obs[1].Time.Add(-time.Hour))))

	m := CSVMap{Time: "t", TimeFormat: "YYYY-MM-DD HH:mm", Zone: "UTC", Columns: []CSVColumn{{Column: "x", Is: "temperature", Unit: "C"}}}
	got, problems, err := ReadCSV(strings.NewReader("t,x\n2026-01-01 10:00,1\n2026-01-01 11:00,1\n2126-01-01 12:00,1\n"), m)
	require.NoError(t, err)
	assert.Len(t, got, 2)
	require.Len(t, problems, 1)
	assert.Equal(t, `line 4, t: "2126-01-01 12:00": more than 50 years from the other rows`, problems[0].String())
}
