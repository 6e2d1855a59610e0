package degreeday

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/weather"
)

var nan = math.NaN()

func day(t *testing.T, r Rule, m, x float64) float64 {
	t.Helper()
	v, err := r.Day(m, x, nan)
	require.NoError(t, err)
	return v
}

// With the minimum above the upper threshold: horizontal U-L, intermediate
// 2U-L-M floored at 0, vertical 0; the clipped averages U-L.
func TestMinimumAboveTheUpperThreshold(t *testing.T) {
	for _, m := range []Method{SingleSine, SingleTriangle} {
		assert.Equal(t, 20.0, day(t, Rule{m, Horizontal, 10, 30}, 32, 38), m)
		assert.InDelta(t, 15, day(t, Rule{m, Intermediate, 10, 30}, 32, 38), 1e-12, m)
		assert.Equal(t, 0.0, day(t, Rule{m, Intermediate, 10, 30}, 45, 60), m)
		assert.Equal(t, 0.0, day(t, Rule{m, Vertical, 10, 30}, 32, 38), m)
	}
	for _, m := range []Method{AverageClipEach, AverageClipMax, AverageClipMean} {
		assert.Equal(t, 20.0, day(t, Rule{m, "", 10, 30}, 32, 38), m)
	}
}

func TestFlatDays(t *testing.T) {
	for _, m := range []Method{SingleSine, SingleTriangle, DoubleSine, DoubleTriangle} {
		for _, c := range Cutoffs() {
			r := Rule{m, c, 10, 30}
			assert.Equal(t, 10.0, day(t, r, 20, 20), "%s", r)
			assert.Equal(t, 0.0, day(t, r, 10, 10), "%s", r)
			assert.Equal(t, 20.0, day(t, r, 30, 30), "on the upper threshold nothing is above it: %s", r)
			assert.Equal(t, 0.0, day(t, r, 5, 5), "%s", r)
		}
	}
}

// The four averages on one day (reference values from the definitions): at 50
// to 85 F with 38 and 75 the mean clip gives 29.5, the others 24.5; at 30 to 60
// F with base 38 the mean clip gives 7 and the clip of each 11.
func TestFourAveragesDiffer(t *testing.T) {
	for _, c := range []struct {
		m          Method
		low, top   float64
		lower, upp float64
		want       float64
	}{
		{AverageClipMean, 50, 85, 38, 75, 29.5},
		{AverageClipEach, 50, 85, 38, 75, 24.5},
		{AverageClipMax, 50, 85, 38, 75, 24.5},
		{AverageClipMean, 30, 60, 38, 75, 7},
		{AverageClipMax, 30, 60, 38, 75, 7},
		{AverageClipEach, 30, 60, 38, 75, 11},
		{AverageClipMax, 20, 50, 38, 75, 0},
		{AverageClipEach, 20, 50, 38, 75, 6},
	} {
		r, err := New(c.m, "", c.lower, &c.upp, Fahrenheit)
		require.NoError(t, err)
		assert.InDelta(t, c.want, DiffCtoF(day(t, r, FtoC(c.low), FtoC(c.top))), 1e-9, "%v", c)
	}
}

func TestDayRejectsAndPassesUnknown(t *testing.T) {
	r := Rule{SingleSine, None, 10, nan}
	_, err := r.Day(12, 11, nan)
	assert.ErrorIs(t, err, ErrMinAboveMax)
	_, err = r.Day(12, math.Inf(1), nan)
	assert.ErrorContains(t, err, "not temperatures")
	_, err = Rule{DoubleSine, None, 10, nan}.Day(5, 12, math.Inf(-1))
	assert.ErrorContains(t, err, "next minimum")
	_, err = Rule{Hourly, None, 10, nan}.Day(5, 20, nan)
	assert.ErrorIs(t, err, ErrHourly)
	assert.True(t, math.IsNaN(day(t, r, nan, 20)))
	assert.True(t, math.IsNaN(day(t, r, 5, nan)))
	assert.True(t, math.IsNaN(day(t, Rule{AverageClipEach, "", 10, 30}, nan, 20)))
}

func TestValidateNamesTheFix(t *testing.T) {
	up := 30.0
	for _, c := range []struct {
		want   string
		method Method
		cutoff Cutoff
		lower  float64
		upper  *float64
	}{
		{"is not one of: average, average-clip-each", "sine", "", 10, nil},
		{"is not one of: horizontal", SingleSine, "diagonal", 10, &up},
		{"needs an upper threshold", SingleSine, Horizontal, 10, nil},
		{"needs a cutoff", SingleSine, "", 10, &up},
		{"needs a cutoff", Hourly, "", 10, &up},
		{"not below the upper", SingleSine, Vertical, 30, &up},
		{"not below the upper", AverageClipMean, "", 31, &up},
		{"average takes no upper threshold", Average, "", 10, &up},
		{"average takes no upper threshold", Average, Horizontal, 10, &up},
		{"needs an upper threshold; without one use average", AverageClipMax, "", 10, nil},
		{"is a horizontal cutoff", AverageClipEach, Vertical, 10, &up},
		{"lower threshold NaN", SingleSine, "", nan, nil},
		{"upper threshold NaN", SingleSine, Horizontal, 10, &nan},
	} {
		_, err := New(c.method, c.cutoff, c.lower, c.upper, Celsius)
		assert.ErrorContains(t, err, c.want)
	}
	for _, r := range []Rule{{Method: Average, Lower: 10}, {SingleSine, None, 10, 5}, {SingleSine, "", 10, nan}, {AverageClipEach, Horizontal, 10, 30}, {AverageClipEach, "", 10, math.Inf(1)}, {Hourly, Vertical, 10, 30}} {
		assert.NoError(t, r.Validate(), "%+v", r)
	}
}

func TestClipEachWithoutAnUpperThreshold(t *testing.T) {
	assert.Equal(t, 5.0, day(t, Rule{AverageClipEach, "", 10, nan}, 0, 20))
}

func TestHours(t *testing.T) {
	temps := []float64{5, 10, 20, 35, nan}
	for _, c := range []struct {
		cut  Cutoff
		want float64
	}{{None, 35.0 / 4}, {Horizontal, 30.0 / 4}, {Intermediate, 25.0 / 4}, {Vertical, 10.0 / 4}} {
		dd, known := Rule{Hourly, c.cut, 10, 30}.Hours(temps)
		assert.InDelta(t, c.want, dd, 1e-12, c.cut)
		assert.Equal(t, 4, known)
	}
	dd, known := Rule{Hourly, None, 10, nan}.Hours([]float64{nan})
	assert.True(t, math.IsNaN(dd))
	assert.Zero(t, known)
	dd, _ = Rule{Hourly, Intermediate, 10, 30}.Hours([]float64{70, 70})
	assert.Zero(t, dd)
}

func TestWindows(t *testing.T) {
	temps := make([]float64, 24+23+24)
	for i := range temps {
		temps[i] = 20
	}
	for i := 47; i < 47+5; i++ {
		temps[i] = nan
	}
	ws := []weather.Window{{From: -4, To: 0}, {From: 0, To: 24}, {From: 24, To: 47}, {From: 47, To: 71}, {From: 67, To: 91}}
	out := make([]float64, len(ws))
	r := Rule{Hourly, None, 10, nan}
	require.NoError(t, r.Windows(temps, ws, out))
	assert.True(t, math.IsNaN(out[0]))
	assert.Equal(t, []float64{10, 10}, out[1:3], "a day of 23 hours is a day")
	assert.True(t, math.IsNaN(out[3]), "19 known hours are too few")
	assert.True(t, math.IsNaN(out[4]))
	assert.ErrorContains(t, Rule{SingleSine, None, 10, nan}.Windows(temps, ws, out), "works on daily extremes")
	assert.Error(t, r.Windows(temps, ws, out[:2]))
	require.NoError(t, r.Windows(nil, ws, out))
	assert.True(t, math.IsNaN(out[1]))
}

func TestDaysJoinOnlyFollowingDates(t *testing.T) {
	d := civil.New(2026, 5, 1)
	days := []weather.Day{
		{Date: d, Min: 5, Max: 20}, {Date: d + 1, Min: 12, Max: 25}, {Date: d + 3, Min: 2, Max: 18},
		{Date: d + 4, Min: nan, Max: nan}, {Date: d + 5, Min: 8, Max: 22},
	}
	r := Rule{DoubleSine, None, 10, nan}
	out := make([]float64, len(days))
	require.NoError(t, r.Days(days, out))
	single := Rule{SingleSine, None, 10, nan}
	first, err := r.Day(5, 20, 12)
	require.NoError(t, err)
	assert.Equal(t, first, out[0])
	assert.NotEqual(t, day(t, single, 5, 20), out[0])
	for _, i := range []int{1, 2, 4} {
		assert.Equal(t, day(t, single, days[i].Min, days[i].Max), out[i])
	}
	assert.True(t, math.IsNaN(out[3]))
	for i, want := range []bool{false, true, true, false, true} {
		assert.Equal(t, want, r.Provisional(days, i), "day %d", i)
		assert.False(t, single.Provisional(days, i))
	}
	total := make([]float64, len(days))
	assert.Equal(t, 1, Running(out, total))
	assert.Equal(t, total[2], total[3], "an unknown day adds nothing and is counted")

	days[1].Min = 30
	err = single.Days(days, out)
	assert.ErrorIs(t, err, ErrMinAboveMax)
	assert.ErrorContains(t, err, "2026-05-02")
	assert.True(t, math.IsNaN(out[1]))
	assert.Equal(t, day(t, single, 8, 22), out[4], "the others are computed all the same")
	assert.Error(t, single.Days(days, out[:2]))
	assert.ErrorIs(t, Rule{Hourly, None, 10, nan}.Days(days, out), ErrHourly)
}

func TestDifferencesNeverAdd32(t *testing.T) {
	assert.Equal(t, 18.0, DiffCtoF(10))
	assert.Equal(t, 10.0, DiffFtoC(18))
	assert.Equal(t, 50.0, CtoF(10))
	assert.Equal(t, 10.0, FtoC(50))
	var u Unit
	assert.ErrorContains(t, u.UnmarshalText([]byte("K")), "not C or F")
	require.NoError(t, u.UnmarshalText([]byte("F")))
	assert.Equal(t, 10.0, u.ToC(50))
	assert.Equal(t, 10.0, u.DiffToC(18))
}

func TestRuleString(t *testing.T) {
	assert.Equal(t, "single-sine, above 10 C", Rule{SingleSine, None, 10, nan}.String())
	assert.Equal(t, "single-sine, 10 to 30 C, vertical cutoff", Rule{SingleSine, Vertical, 10, 30}.String())
	assert.Equal(t, "average-clip-each, 10 to 30 C", Rule{AverageClipEach, "", 10, 30}.String())
}
