package model

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/risk"
	"plotwarden/weather"
)

// Smith 1956 (from memory): two consecutive days, each with a minimum of 10 C and
// at least 11 h at 90 % or more. Hutton 2017 (confirmed): the same with 6 h, which
// need not be consecutive.
const (
	smith  = "{day: calendar, hours: {humidity: 90}, at_least: 11, min_temperature: 10, days: 2, event: Smith period," + inGround + ", stages: [{name: first, value: 1}]}"
	hutton = "{day: calendar, hours: {humidity: 90}, at_least: 6, min_temperature: 10, days: 2, event: Hutton period," + inGround + ", stages: [{name: first, value: 1}]}"
)

// humidDay is a day of n humid hours spread over the day, none next to another,
// with a minimum.
func humidDay(n int, low float64) []hour {
	day := times(24, hour{20, 60, 0})
	for i := range n {
		day[i*2%24+i/12].rh = 90
	}
	day[5].temp = low
	return day
}

func TestConsecutiveDaysBoundaries(t *testing.T) {
	s, h := decode(t, "consecutive-days", oneLine(smith)), decode(t, "consecutive-days", oneLine(hutton))
	for _, c := range []struct {
		name          string
		one, two      []hour
		smith, hutton bool
	}{
		{"11 h and 10 C", humidDay(11, 10), humidDay(11, 10), true, true},
		{"10 h on one day, the near miss", humidDay(10, 10), humidDay(11, 10), false, true},
		{"10 h on the other", humidDay(11, 10), humidDay(10, 10), false, true},
		{"6 h", humidDay(6, 10), humidDay(6, 10), false, true},
		{"5 h on one day", humidDay(6, 10), humidDay(5, 10), false, false},
		{"9.9 C on one day", humidDay(11, 9.9), humidDay(11, 10), false, false},
		{"24 h", humidDay(24, 10), humidDay(24, 10), true, true},
		{"none", humidDay(0, 10), humidDay(24, 10), false, false},
	} {
		for _, k := range []struct {
			p    program
			want bool
		}{{s, c.smith}, {h, c.hutton}} {
			tr := track(t, k.p, join(c.one, c.two))
			assert.Equal(t, []float64{0, float64(one(k.want))}, values(tr), "%s, %s", c.name, k.p.(*ConsecutiveDays).Event)
			if k.want {
				assert.Equal(t, risk.Event{Kind: risk.Infection, Name: k.p.(*ConsecutiveDays).Event, Date: firstDay + 1, Value: 2}, tr.Events[0], c.name)
				assert.Equal(t, "first", tr.Events[1].Name)
			} else {
				assert.Empty(t, tr.Events, c.name)
			}
		}
	}
}

func oneLine(s string) string {
	out := []byte(s)
	for i, c := range out {
		if c == '\n' {
			out[i] = ' '
		}
	}
	return string(out)
}

// Each day that completes a run is one; days before the start do not complete it.
func TestConsecutiveDaysCount(t *testing.T) {
	p := decode(t, "consecutive-days", oneLine(hutton))
	good, bad := humidDay(8, 12), humidDay(2, 12)
	hours := join(good, good, good, bad, good, bad, good, good)
	assert.Equal(t, []float64{0, 1, 1, 0, 0, 0, 0, 1}, values(track(t, p, hours)))
	assert.Equal(t, []float64{0, 1, 2, 2, 2, 2, 2, 3}, totals(track(t, p, hours)))
	late, err := p.Run(&Input{Weather: sky(t, firstDay, time.UTC, hours), Start: firstDay + 1})
	require.NoError(t, err)
	assert.Equal(t, []float64{0, 1, 0, 0, 0, 0, 1}, values(late))
}

func TestConsecutiveDaysUnknown(t *testing.T) {
	p := decode(t, "consecutive-days", oneLine(hutton))
	good := humidDay(8, 12)
	fewHours := humidDay(5, 12) // and one unknown hour makes 6
	fewHours[23].rh = nan
	tr := track(t, p, join(good, fewHours))
	assert.Equal(t, []float64{0, 0, 1}, []float64{tr.Points[1].Value, tr.Points[1].Low, tr.Points[1].High})
	assert.Equal(t, 1, tr.Points[1].UnknownHours)
	enough := humidDay(8, 12) // the unknown hour does not matter
	enough[23].rh = nan
	tr = track(t, p, join(good, enough))
	assert.Equal(t, 1.0, tr.Points[1].Low)
	assert.True(t, tr.Complete())
	cold := humidDay(8, 12) // an hour of unknown temperature may have been below 10 C
	cold[23].temp = nan
	tr = track(t, p, join(good, cold))
	assert.Equal(t, []float64{0, 0, 1}, []float64{tr.Points[1].Value, tr.Points[1].Low, tr.Points[1].High})
}

// Hyre 1954 (confirmed second-hand): the mean of 5 days below 25.5 C, 30 mm or
// more in 10 days, and no minimum below 7.2 C. Sums include the day itself (from
// memory).
const hyre = "{mean: {days: 5, below: 25.5}, rain: {days: 10, at_least: 30}, min_temperature: 7.2, start: {kind: in ground, standing: common practice}, stages: [{name: first spray, value: 10}]}"

func hyreDays(n int, low, high, rain float64) []weather.Day {
	out := daysOf(firstDay-9, make([][2]float64, n)...)
	for i := range out {
		out[i].Min, out[i].Max, out[i].Rain = low, high, rain
	}
	return out
}

func TestHyreBoundaries(t *testing.T) {
	p := decode(t, "favourable-days", hyre)
	for _, c := range []struct {
		name            string
		low, high, rain float64
		want            float64
	}{
		{"favourable", 15, 25, 3, 1},
		{"mean 25.5", 20, 31, 3, 0},
		{"mean 25.4", 20, 30.8, 3, 1},
		{"rain 29.9 mm", 15, 25, 2.99, 0},
		{"minimum 7.2", 7.2, 25, 3, 1},
		{"minimum 7.1", 7.1, 25, 3, 0},
	} {
		tr, err := p.Run(&Input{Days: hyreDays(10, c.low, c.high, c.rain), Start: firstDay})
		require.NoError(t, err)
		assert.Equal(t, []float64{c.want}, values(tr), c.name)
		assert.True(t, tr.Complete(), c.name)
	}
}

func TestHyreWindows(t *testing.T) {
	p := decode(t, "favourable-days", hyre)
	// 30 mm on one day count for it and the 9 after; the 5-day mean leaves the hot
	// spell 5 days after its last day.
	days := hyreDays(40, 15, 25, 0)
	days[9].Rain = 30
	tr, err := p.Run(&Input{Days: days, Start: firstDay})
	require.NoError(t, err)
	assert.Equal(t, 10.0, tr.Points[len(tr.Points)-1].Total)
	assert.Equal(t, []string{"06-10 crossing first spray"}, events(tr))

	days = hyreDays(25, 15, 25, 10)
	days[12].Max = 90 // lifts the mean of 5 days to 33
	tr, err = p.Run(&Input{Days: days, Start: firstDay})
	require.NoError(t, err)
	assert.Equal(t, []float64{1, 1, 1, 0, 0, 0, 0, 0, 1}, values(tr)[:9])

	inRow := decode(t, "favourable-days", hyre[:len(hyre)-1]+", in_a_row: true}")
	tr, err = inRow.Run(&Input{Days: days, Start: firstDay})
	require.NoError(t, err)
	assert.Equal(t, []float64{1, 2, 3, 0, 0, 0, 0, 0, 1, 2}, totals(tr)[:10])
}

func TestHyreUnknown(t *testing.T) {
	p := decode(t, "favourable-days", hyre)
	days := hyreDays(12, 15, 25, 3)
	days[5].Rain = nan // of ten days
	tr, err := p.Run(&Input{Days: days, Start: firstDay})
	require.NoError(t, err)
	assert.Equal(t, []float64{0, 0, 1}, []float64{tr.Points[0].Total, tr.Points[0].Low, tr.Points[0].High})
	assert.False(t, tr.Complete())
	days[4].Rain = 60 // enough without it
	tr, err = p.Run(&Input{Days: days, Start: firstDay})
	require.NoError(t, err)
	assert.Equal(t, 1.0, tr.Points[0].Low)
	assert.True(t, tr.Complete())
	days[9].Min = 5 // surely not, whatever the rest was
	days[5].Min, days[5].Max = nan, nan
	tr, err = p.Run(&Input{Days: days, Start: firstDay})
	require.NoError(t, err)
	assert.Equal(t, 0.0, tr.Points[0].High)
}

// Cucurbit powdery mildew needs no wetness: 20 to 27 C (Purdue, Minnesota: confirmed).
func TestTemperatureRangeOfOneDay(t *testing.T) {
	p := decode(t, "favourable-days", "{mean: {days: 1, at_least: 20, at_most: 27}, start: {kind: in ground, standing: common practice}}")
	tr, err := p.Run(&Input{Days: daysOf(firstDay, [2]float64{15, 25}, [2]float64{15, 24.9}, [2]float64{20, 34}, [2]float64{20, 34.1}), Start: firstDay})
	require.NoError(t, err)
	assert.Equal(t, []float64{1, 0, 1, 0}, values(tr))
	assert.Equal(t, []weather.Var{weather.Temp}, p.Needs())
}

// P-days of Sands, Hackett & Nix 1979; 300 come before the first rise in airborne
// spores of early blight (Pscheidt & Stevenson 1986, confirmed).
func TestPDaysTrack(t *testing.T) {
	p := decode(t, "p-days", "{lower: 7, best: 21, upper: 30, start: {kind: catch, event: emergence, standing: confirmed}, stages: [{name: first spray, value: 300}]}")
	var in [][2]float64
	for range 33 {
		in = append(in, [2]float64{15, 25}) // 9.2312 each
	}
	tr, err := p.Run(&Input{Days: daysOf(firstDay, in...), Start: firstDay})
	require.NoError(t, err)
	assert.InDelta(t, 9.2312, tr.Points[0].Value, 5e-5)
	assert.Equal(t, []string{"07-03 crossing first spray"}, events(tr)) // 33 x 9.2312 = 304.6
	days := daysOf(firstDay, in...)
	days[3].Max = nan
	tr, err = p.Run(&Input{Days: days, Start: firstDay})
	require.NoError(t, err)
	assert.InDelta(t, 10, tr.Points[4].High-tr.Points[4].Low, 1e-9)
	assert.Equal(t, 24, tr.Points[32].UnknownHours)
}
