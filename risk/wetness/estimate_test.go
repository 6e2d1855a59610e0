package wetness

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/garden"
	"plotwarden/weather"
)

var nan = math.NaN()

// hours builds a series from columns; a missing column stays missing.
func hours(n int, cols map[weather.Var][]float64) *weather.Series {
	s := weather.NewSeries(time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC), n)
	o, err := s.AddOrigin(weather.Origin{Source: "test", Kind: weather.Station})
	if err != nil {
		panic(err)
	}
	for v, col := range cols {
		for i, x := range col {
			s.Set(v, i, x, o)
		}
	}
	return s
}

func repeat(x float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = x
	}
	return out
}

func TestHumidityOnBothSidesOfItsThreshold(t *testing.T) {
	s := hours(4, map[weather.Var][]float64{weather.RH: {89.9, 90, 95, nan}, weather.Rain: repeat(0, 4)})
	assert.Equal(t, []State{Dry, Wet, Wet, Unknown}, Rule{Method: Humidity}.Estimate(s, "", nil, nil))
	assert.Equal(t, []State{Wet, Wet, Wet, Unknown}, Rule{Method: Humidity, Threshold: 87}.Estimate(s, "", nil, nil))
	assert.Equal(t, []State{Dry, Dry, Wet, Unknown}, Rule{Method: Humidity, Threshold: 95}.Estimate(s, "", nil, nil))
}

func TestHumidityFromTheDewPoint(t *testing.T) {
	s := hours(3, map[weather.Var][]float64{weather.Temp: {20, 20, nan}, weather.DewPoint: {19.5, 12, 12}, weather.Rain: repeat(0, 3)})
	assert.Equal(t, []State{Wet, Dry, Unknown}, Rule{Method: Humidity}.Estimate(s, "", nil, nil))
}

// Every method: rain wets, irrigation wets, and an hour whose rain is missing
// is never dry. The air is dry enough that no method calls it wet by itself.
func TestRainIrrigationAndUnknownInEveryMethod(t *testing.T) {
	n := 6
	s := hours(n, map[weather.Var][]float64{
		weather.Temp: repeat(20, n), weather.RH: repeat(40, n), weather.DewPoint: repeat(6, n), weather.Wind: repeat(3, n), weather.Wetness: repeat(0, n),
		weather.Rain: {0, 0.1, 0, nan, 0, 0},
	})
	missing := hours(2, map[weather.Var][]float64{weather.Rain: {0, 0.2}})
	for _, m := range Methods() {
		if m == DailyExtremes {
			continue
		}
		r := Rule{Method: m}
		want := []State{Dry, Wet, Dry, Unknown, Wet, Dry}
		assert.Equal(t, want, r.Estimate(s, garden.NoCover, []int{4, -1, 99}, nil), m)
		assert.Equal(t, want, r.Estimate(s, garden.InsectNet, []int{4}, nil), m)
		assert.Equal(t, want, r.Estimate(s, garden.RowCover, []int{4}, nil), m)
		assert.Equal(t, []State{Dry, Dry, Dry, Dry, Wet, Dry}, r.Estimate(s, garden.Tunnel, []int{4}, nil), "rain is kept off: %s", m)
		assert.Equal(t, []State{Unknown, Wet}, r.Estimate(missing, garden.NoCover, nil, nil), "known to be without rain is not known to be dry: %s", m)
		assert.Equal(t, []State{Unknown, Unknown}, r.Estimate(hours(2, nil), garden.NoCover, nil, nil), m)
		traced := Rule{Method: m, Trace: 0.1}
		assert.Equal(t, Dry, traced.Estimate(s, garden.NoCover, nil, nil)[1], m)
	}
}

func TestDepressionKeepsItsStateBetweenTheLimits(t *testing.T) {
	dew := []float64{18, 18.3, 18, 17.5, 18, nan, 18, 18.3, 18, 18}
	n := len(dew)
	rain := repeat(0, n)
	s := hours(n, map[weather.Var][]float64{weather.Temp: repeat(20, n), weather.DewPoint: dew, weather.Rain: rain})
	// 2.0 lies between 1.8 and 2.2: unknown until a limit was passed, then as
	// before; a gap makes it unknown again.
	want := []State{Unknown, Wet, Wet, Dry, Dry, Unknown, Unknown, Wet, Wet, Wet}
	assert.Equal(t, want, Rule{Method: DewPointDepression}.Estimate(s, "", nil, nil))
	rain[4] = 1
	s = hours(n, map[weather.Var][]float64{weather.Temp: repeat(20, n), weather.DewPoint: repeat(18, n), weather.Rain: rain})
	got := Rule{Method: DewPointDepression}.Estimate(s, "", nil, nil)
	assert.Equal(t, []State{Unknown, Unknown, Unknown, Unknown, Wet, Wet, Wet, Wet, Wet, Wet}, got, "after rain the leaf stays wet until the air dries it")
}

func TestDepressionOnBothSidesOfItsLimits(t *testing.T) {
	s := hours(4, map[weather.Var][]float64{weather.Temp: repeat(20, 4), weather.DewPoint: {18.2 + 1e-9, 18.2, 17.8, 17.8 - 1e-9}, weather.Rain: repeat(0, 4)})
	assert.Equal(t, []State{Wet, Wet, Wet, Dry}, Rule{Method: DewPointDepression}.Estimate(s, "", nil, nil))
}

func TestExtendedHumidity(t *testing.T) {
	for _, c := range []struct {
		name string
		rh   []float64
		want []State
	}{
		{"limits", []float64{87, 86.9, 69.9, 70}, []State{Wet, Wet, Dry, Dry}},
		{"rise of more than 6 an hour", []float64{60, 72, 78, 84.1}, []State{Dry, Wet, Wet, Wet}},
		{"rise of exactly 6 changes nothing", []float64{66, 72, 78}, []State{Dry, Dry, Dry}},
		{"fall of more than 4 an hour", []float64{90, 86, 81.9, 80}, []State{Wet, Wet, Dry, Dry}},
		{"start between", []float64{80, 81, 70, 60}, []State{Unknown, Unknown, Dry, Dry}},
		{"after a gap", []float64{90, nan, 80, 81}, []State{Wet, Unknown, Unknown, Unknown}},
	} {
		s := hours(len(c.rh), map[weather.Var][]float64{weather.RH: c.rh, weather.Rain: repeat(0, len(c.rh))})
		assert.Equal(t, c.want, Rule{Method: ExtendedHumidity}.Estimate(s, "", nil, nil), c.name)
	}
}

func TestTreeNeedsWindInTheOpenOnly(t *testing.T) {
	s := hours(3, map[weather.Var][]float64{
		weather.Temp: {15, 15, 15}, weather.RH: {95, 95, 70}, weather.DewPoint: {14.2, 14.2, 9.5}, weather.Wind: {2, nan, nan}, weather.Rain: repeat(0, 3),
	})
	r := Rule{Method: Tree}
	assert.Equal(t, []State{Wet, Unknown, Dry}, r.Estimate(s, garden.NoCover, nil, nil), "far from the dew point wind does not matter")
	assert.Equal(t, []State{Wet, Wet, Dry}, r.Estimate(s, garden.RowCover, nil, nil))
	assert.Equal(t, []State{Wet, Wet, Dry}, r.Estimate(s, garden.Tunnel, nil, nil))
}

// The wind of a series is that at 10 m: 8 m/s there is 3.3 m/s at 0.3 m, above
// the tree's 2.5, and 5 m/s is 2.1, below it.
func TestTreeBringsWindDown(t *testing.T) {
	cols := map[weather.Var][]float64{weather.Temp: repeat(15, 2), weather.RH: repeat(87, 2), weather.DewPoint: repeat(12.9, 2), weather.Wind: {5, 8}, weather.Rain: repeat(0, 2)}
	got := Rule{Method: Tree}.Estimate(hours(2, cols), "", nil, nil)
	assert.Equal(t, []State{treeState(15, 2.1, 87, WindAt(5, 10, 0.3)), Dry}, got)
	cols[weather.Wind] = []float64{2.4, 2.6}
	low := Rule{Method: Tree, WindHeight: 0.3}.Estimate(hours(2, cols), "", nil, nil)
	assert.Equal(t, []State{treeState(15, 2.1, 87, 2.4), Dry}, low)
}

func TestTreeBelowFreezingIsDryUnlessItRains(t *testing.T) {
	s := hours(2, map[weather.Var][]float64{weather.Temp: {-0.1, -0.1}, weather.RH: {99, 99}, weather.DewPoint: {-0.2, -0.2}, weather.Wind: {1, 1}, weather.Rain: {0, 0.2}})
	assert.Equal(t, []State{Dry, Wet}, Rule{Method: Tree}.Estimate(s, "", nil, nil))
}

func TestMeasured(t *testing.T) {
	s := hours(3, map[weather.Var][]float64{weather.Wetness: {0.49, 0.5, nan}, weather.Rain: repeat(0, 3)})
	assert.Equal(t, []State{Dry, Wet, Unknown}, Rule{Method: Measured}.Estimate(s, "", nil, nil))
}

func anyHours(t *rapid.T) *weather.Series {
	n := rapid.IntRange(1, 80).Draw(t, "hours")
	col := func(name string, low, top float64) []float64 {
		out := make([]float64, n)
		for i := range out {
			out[i] = rapid.Float64Range(low, top).Draw(t, name)
			if rapid.IntRange(0, 9).Draw(t, "gap") == 0 {
				out[i] = nan
			}
		}
		return out
	}
	cols := map[weather.Var][]float64{
		weather.Temp: col("temp", -10, 35), weather.RH: col("rh", 40, 100), weather.Wind: col("wind", 0, 12),
		weather.Rain: col("rain", -0.5, 0.5), weather.Wetness: col("wetness", 0, 1),
	}
	for i, r := range cols[weather.Rain] {
		cols[weather.Rain][i] = math.Max(0, r)
	}
	return hours(n, cols)
}

func TestUpdateEqualsEstimate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anyHours(t)
		r := Rule{Method: rapid.SampledFrom([]Method{Humidity, DewPointDepression, ExtendedHumidity, Tree, Measured}).Draw(t, "method")}
		cover := rapid.SampledFrom([]garden.Cover{"", garden.RowCover, garden.InsectNet, garden.Tunnel}).Draw(t, "cover")
		irrigated := rapid.SliceOfN(rapid.IntRange(0, s.Len()-1), 0, 3).Draw(t, "irrigated")
		want := r.Estimate(s, cover, irrigated, nil)
		from := rapid.IntRange(0, s.Len()).Draw(t, "from")
		early := append([]State(nil), want[:from]...)
		assert.Equal(t, want, r.Update(s, cover, irrigated, early, from))
		stale := append([]State(nil), want...)
		for i := from; i < len(stale); i++ {
			stale[i] = Wet
		}
		assert.Equal(t, want, r.Update(s, cover, irrigated, stale, from))
		assert.Equal(t, want, r.Estimate(s, cover, irrigated, stale), "memory used again")
	})
}

// Learning more never turns one answer into the other in the methods without
// memory: it only settles unknown hours.
func TestMissingValuesOnlyMakeUnknown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anyHours(t)
		r := Rule{Method: rapid.SampledFrom([]Method{Humidity, Tree, Measured}).Draw(t, "method")}
		full := r.Estimate(s, "", nil, nil)
		less := s.Slice(0, s.Len())
		v := rapid.SampledFrom([]weather.Var{weather.Temp, weather.RH, weather.Wind, weather.Rain, weather.Wetness}).Draw(t, "column")
		for i := range s.Len() {
			less.Set(v, i, nan, 0)
		}
		for i, st := range r.Estimate(less, "", nil, nil) {
			if st != Unknown && st != full[i] {
				t.Fatalf("hour %d became %s from %s when %s was taken away", i, st, full[i], v)
			}
		}
	})
}

// The reference is weather.DewPointFromRH, itself checked against PsychroLib.
func TestDewDistance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		temp, rh := rapid.Float64Range(-40, 50).Draw(t, "temp"), rapid.Float64Range(1, 100).Draw(t, "rh")
		exact := temp - weather.DewPointFromRH(temp, rh)
		limit := 0.02
		if exact > 5 {
			limit = 0.05
		}
		if got := dewDistance(temp, rh); math.Abs(got-exact) > limit {
			t.Fatalf("%g C at %g %%: %g, want %g", temp, rh, got, exact)
		}
	})
	assert.True(t, math.IsNaN(dewDistance(20, nan)))
	assert.True(t, math.IsNaN(dewDistance(nan, 50)))
	assert.True(t, math.IsNaN(dewDistance(20, 120)))
}

// The short cut for dry air must classify as the depression itself does.
func TestDepressionFromHumidity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		temp, rh := rapid.Float64Range(-59, 45).Draw(t, "temp"), rapid.Float64Range(1, 100).Draw(t, "rh")
		exact := temp - weather.DewPointFromRH(temp, rh)
		s := hours(1, map[weather.Var][]float64{weather.Temp: {temp}, weather.RH: {rh}, weather.Rain: {0}})
		got := Rule{Method: DewPointDepression, Onset: 3.8, DryOff: 3.8}.Estimate(s, "", nil, nil)[0]
		if math.Abs(exact-3.8) > 0.02 && (got == Wet) != (exact < 3.8) {
			t.Fatalf("%g C at %g %%: depression %g is %s", temp, rh, exact, got)
		}
	})
}

func TestValidate(t *testing.T) {
	for want, r := range map[string]Rule{
		"is not one of":       {Method: "guess"},
		"number of wet hours": {Method: DailyExtremes},
		"threshold 101":       {Method: Humidity, Threshold: 101},
		"above dry_off":       {Method: DewPointDepression, Onset: 3, DryOff: 2},
		"above wet_from":      {Method: ExtendedHumidity, DryBelow: 90},
		"wind_height 0.1":     {Method: Tree, WindHeight: 0.1},
		"share NaN":           {Method: Measured, Share: nan},
		"trace -1":            {Method: Measured, Trace: -1},
	} {
		assert.ErrorContains(t, r.Validate(), want)
		assert.Panics(t, func() { r.Estimate(hours(1, nil), "", nil, nil) }, want)
	}
	for _, m := range Methods() {
		var back Method
		require.NoError(t, back.UnmarshalText([]byte(m)))
		assert.NotEmpty(t, m.Source().Text)
		assert.NotZero(t, m.Source().Standing)
		assert.NotEmpty(t, m.Needs())
		for _, p := range (Rule{Method: m}).Parameters() {
			assert.NotZero(t, p.Source.Standing, "%s: %s", m, p.Name)
		}
	}
}

func TestDays(t *testing.T) {
	n := 48
	rh := repeat(80, n)
	rh[3], rh[14] = 95, 60
	temp := repeat(12, n)
	temp[5] = 10
	rain := repeat(0, n)
	rain[2] = 5
	for i := 24; i < 30; i++ {
		rh[i] = nan
	}
	s := hours(n, map[weather.Var][]float64{weather.Temp: temp, weather.RH: rh, weather.Rain: rain})
	got := Days(s, time.UTC, garden.NoCover)
	require.Len(t, got, 2)
	assert.Equal(t, "2026-06-01", got[0].Date.String())
	assert.InDelta(t, DailyHours(60, 95, 10, 5), got[0].Hours, 1e-12)
	assert.True(t, math.IsNaN(got[1].Hours))
	assert.InDelta(t, DailyHours(60, 95, 10, 0), Days(s, time.UTC, garden.Tunnel)[0].Hours, 1e-12)
	assert.True(t, math.IsNaN(DailyHours(60, 50, 10, 0)))
	assert.True(t, math.IsNaN(DailyHours(60, 90, nan, 0)))
}

func TestEstimateAllocatesNothing(t *testing.T) {
	s := season(8784)
	out := make([]State, 0, s.Len())
	for _, m := range []Method{Humidity, DewPointDepression, ExtendedHumidity, Tree, Measured} {
		assert.Zero(t, testing.AllocsPerRun(3, func() { out = Rule{Method: m}.Estimate(s, "", []int{5}, out) }), m)
	}
}
