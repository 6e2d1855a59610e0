package model

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/weather"
)

// The grape powdery mildew index (Gubler, Thomas et al., APSnet 1999, confirmed):
// 6 h in a row at 70-85 F, 95 F, +20, -10, 3 days to start, 100 at the most.
const gubler = "{temperature_unit: F, warm_from: 70, warm_to: 85, warm_hours: 6, hot_from: 95, rise: 20, fall: 10, start_days: 3, ceiling: 100, start: {kind: catch, event: bud break, standing: confirmed}, stages: [{name: middle, value: 40}, {name: high, value: 60}]}"

// mildewDay is a cool day with n hours at a temperature in F.
func mildewDay(n int, at float64) []hour {
	return join(times(8, hour{f(60), 50, 0}), times(n, hour{f(at), 50, 0}), times(16-n, hour{f(60), 50, 0}))
}

func TestMildewIndexDayByDay(t *testing.T) {
	p := decode(t, "mildew-index", gubler)
	warm, cool := mildewDay(6, 70), mildewDay(5, 75)
	tr := track(t, p, join(warm, warm, cool, warm, warm, warm, cool, warm))
	assert.Equal(t, []float64{20, 40, 0, 20, 40, 60, 50, 70}, totals(tr))
	assert.Equal(t, []string{"06-02 crossing middle", "06-05 crossing middle", "06-06 crossing high", "06-08 crossing high"}, events(tr))
	for _, c := range []struct {
		name string
		day  []hour
		want float64
	}{
		{"70 F", mildewDay(6, 70), 80}, {"69.9 F", mildewDay(6, 69.9), 50},
		{"85 F", mildewDay(6, 85), 80}, {"85.1 F", mildewDay(6, 85.1), 50},
		{"5 h", mildewDay(5, 75), 50}, {"5 and 5 h apart", join(mildewDay(5, 75)[:14], times(5, hour{f(75), 50, 0}), times(5, hour{f(60), 50, 0})), 50},
		{"an hour of 95 F", mildewDay(1, 95), 50}, {"94.9 F", mildewDay(1, 94.9), 50},
		{"warm and hot", join(mildewDay(6, 75)[:20], times(4, hour{f(95), 50, 0})), 70},
		{"warm and nearly hot", join(mildewDay(6, 75)[:20], times(4, hour{f(94.9), 50, 0})), 80},
	} {
		tr := track(t, p, join(warm, warm, warm, c.day))
		assert.Equal(t, c.want, tr.Points[3].Total, c.name)
	}
}

func TestMildewIndexUnknownDay(t *testing.T) {
	p := decode(t, "mildew-index", gubler)
	warm := mildewDay(6, 75)
	tr := track(t, p, join(warm, warm, warm, times(24, unknown), warm))
	assert.Equal(t, []float64{50, 50, 80}, []float64{tr.Points[3].Total, tr.Points[3].Low, tr.Points[3].High})
	assert.Equal(t, []float64{70, 70, 100}, []float64{tr.Points[4].Total, tr.Points[4].Low, tr.Points[4].High})
	assert.Equal(t, 24, tr.Points[4].UnknownHours)
	// Within the start: 0 or started.
	tr = track(t, p, join(warm, warm, times(24, unknown)))
	assert.Equal(t, []float64{0, 60}, []float64{tr.Points[2].Low, tr.Points[2].High})
}

// Fire blight (Steiner): 198 degree-hours above 65 F within the last 80 degree-days
// above 40 F, a wetting, and a mean of 60 F (massfruitgrowers.org 2003, confirmed).
const steiner = "{temperature_unit: F, heat_above: 65, heat_total: 198, window_above: 40, window_total: 80, mean_at_least: 60, wetting: {wetness: {method: humidity}}, event: infection of blossoms, start: {kind: catch, event: first open blossom, standing: confirmed}}"

// bloomDay is a day of n hours at 75 F (10 degree-hours each), the others at 60 F,
// with a wet hour when wet.
func bloomDay(n int, wet bool) []hour {
	day := join(times(n, hour{f(75), 50, 0}), times(24-n, hour{f(60), 50, 0}))
	if wet {
		day[23].rain = 0.3
	}
	return day
}

func TestBlossomHeat(t *testing.T) {
	p := decode(t, "blossom-heat", steiner)
	// Each day has 10 n degree-hours and (60+75)/2-40 = 27.5 degree-days, so that
	// the window holds 2 days (55) and not 3 (82.5).
	tr := track(t, p, join(bloomDay(9, false), bloomDay(10, false), bloomDay(10, true), bloomDay(10, false), bloomDay(9, true)))
	for i, want := range []float64{90, 190, 200, 200, 190} {
		assert.InDelta(t, want, tr.Points[i].Total, 1e-9, "day %d", i+1)
	}
	assert.Equal(t, []string{"06-03 infection infection of blossoms"}, events(tr), "heat and rain together; the fourth day is dry, the fifth too cool")
	assert.InDelta(t, 200, tr.Events[0].Value, 1e-9)
	// 198 is enough, 197.9 is not.
	for at, want := range map[float64]int{74.9: 1, 74.85: 0} {
		hot := join(times(20, hour{f(at), 50, 0}), times(4, hour{f(60), 95, 0}))
		assert.Len(t, track(t, p, hot).Events, want, "20 h at %g F: %g degree-hours", at, 20*(at-65))
	}
	// The mean is (lowest + highest)/2: 45 and 74.9 F are 59.95.
	cold := join(times(20, hour{f(74.9), 50, 0}), times(4, hour{f(45), 95, 0}))
	assert.Empty(t, track(t, p, cold).Events)
	// Heat from before the blossoms opened does not count.
	in := &Input{Weather: sky(t, firstDay, time.UTC, join(bloomDay(10, false), bloomDay(10, true))), Start: firstDay}
	tr, err := p.Run(in)
	require.NoError(t, err)
	assert.Len(t, tr.Events, 1)
	in.Start++
	tr, err = p.Run(in)
	require.NoError(t, err)
	assert.Empty(t, tr.Events)
}

// Days before the weather may have had any heat, as long as they can be in the window.
func TestBlossomHeatBeforeTheWeather(t *testing.T) {
	p := decode(t, "blossom-heat", steiner)
	in := &Input{Weather: sky(t, firstDay, time.UTC, join(bloomDay(10, false), bloomDay(10, false), bloomDay(10, false))), Start: firstDay - 1}
	tr, err := p.Run(in)
	require.NoError(t, err)
	for i, want := range []float64{0, 100, 200, 200} {
		assert.InDelta(t, want, tr.Points[i].Total, 1e-9)
	}
	for i, wide := range []bool{true, true, true, false} { // the fourth day's window holds known days alone
		assert.Equal(t, wide, tr.Points[i].High > tr.Points[i].Total+1, "day %d", i)
	}
	assert.Equal(t, 24, tr.Points[3].UnknownHours)
}

// Krause, Massie & Hyre 1975 (from memory): no call before 18 severity values or
// 10 favourable days, then the cell of the last 7 days.
func TestSprayMatrixSeason(t *testing.T) {
	p := decode(t, "spray-matrix", fmt.Sprintf(`{severity: %s, severity_days: 7,
	  favourable: {mean: {days: 5, below: 25.5}, rain: {days: 10, at_least: 30}, min_temperature: 7.2}, favourable_days: 7,
	  calls: [no spray, warning, spray every 7 days, spray every 5 days], columns: [3, 4, 5, 6, 7],
	  rows: [{from: 0, cells: [0, 0, 1, 2, 2, 3]}, {from: 5, cells: [0, 1, 2, 3, 3, 3]}],
	  begins: {severity: 18, favourable: 10}, start: {kind: in ground, standing: common practice},
	  stages: [{name: warning, value: 1}, {name: seven, value: 2}, {name: five, value: 3}]}`, bare(wallinTable)))
	// 19 h at 18 C are 4 severity values a day; no rain, so no favourable day.
	humid, arid := join(times(19, humidAt(18)), times(5, hour{18, 50, 0})), times(24, hour{18, 50, 0})
	var hours []hour
	for range 6 {
		hours = join(hours, humid)
	}
	for range 8 {
		hours = join(hours, arid)
	}
	// The weather begins 10 days before the start, so that the rain of 10 days is known.
	var before []hour
	for range 10 {
		before = join(before, arid)
	}
	in := &Input{Weather: sky(t, firstDay-10, time.UTC, join(before, hours)), Start: firstDay}
	tr, err := p.Run(in)
	require.NoError(t, err)
	// Sums of 7 days: 4 8 12 16 20 24 24 20 16 12 8 4 0 0; 18 is reached on day 5.
	assert.Equal(t, []float64{0, 0, 0, 0, 3, 3, 3, 3, 3, 3, 3, 1, 0, 0}, totals(tr))
	assert.Equal(t, []string{"06-05 crossing warning", "06-05 crossing seven", "06-05 crossing five"}, events(tr))
	assert.True(t, tr.Complete())
	assert.Equal(t, []weather.Var{weather.Temp, weather.RH, weather.Rain}, p.Needs())

	// With 3 mm of rain an hour all days from the first are favourable: 10 of them
	// open the calls, and 4 severity values in 7 days then call for 7 days.
	wet := append([]hour(nil), join(before, hours)...)
	for i := range wet {
		wet[i].rain = 3
		wet[i].rh = 50
		if i >= 240+24*12 && i < 240+24*12+19 {
			wet[i].rh = 95
		}
	}
	in.Weather = sky(t, firstDay-10, time.UTC, wet)
	tr, err = p.Run(in)
	require.NoError(t, err)
	assert.Equal(t, []float64{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 2, 2}, totals(tr))
}

// bare takes the start off a spec, for a rule within another.
func bare(spec string) string {
	const start = "start: {kind: in ground, standing: common practice}}"
	return spec[:len(spec)-len(start)] + "}"
}
