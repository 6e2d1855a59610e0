package model

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
)

// Lettuce downy mildew: wet for 4 h or more from 06:00 standard time (Wu et al.
// 2002; Scherm et al. 1995: to 10:00 or later), but not with a mean above 20 C in
// the first 3 h or above 22 C in the next 4 (Phytopathology 92:631, confirmed).
const lettuce = "{hours: {wetness: {method: humidity}}, clock: standard, from: 6, at_least: 4, too_warm: [{hours: 3, above: 20}, {hours: 4, above: 22}], event: infection, start: {kind: in ground, standing: common practice}}"

// morning is a day of 24 hours, wet from one clock hour up to another at temp,
// dry and at later before and after.
func morning(from, to int, temp, later float64) []hour {
	day := times(24, hour{later, 50, 0})
	for i := from; i < to; i++ {
		day[i] = hour{temp, 95, 0}
	}
	return day
}

func TestLettuceMornings(t *testing.T) {
	p := decode(t, "wet-morning", lettuce)
	for _, c := range []struct {
		name string
		day  []hour
		want float64
	}{
		{"wet to 10:00", morning(2, 10, 15, 18), 1},
		{"wet to 09:00", morning(2, 9, 15, 18), 0},
		{"wet from 06:00", morning(6, 10, 15, 18), 1},
		{"wet from 07:00", morning(7, 20, 15, 18), 0},
		{"20 C", morning(2, 10, 20, 20), 1},
		{"20.1 C", morning(2, 10, 20.1, 20), 0},
		{"22 C from 09 to 13", join(morning(0, 9, 15, 22)[:9], times(1, hour{22, 95, 0}), times(14, hour{22, 50, 0})), 1},
		{"22.1 C from 09 to 13", join(morning(0, 9, 15, 22)[:9], times(1, hour{22.1, 95, 0}), times(14, hour{22.1, 50, 0})), 0},
		{"hot after 13", join(morning(0, 13, 15, 22)[:13], times(11, hour{35, 50, 0})), 1},
	} {
		tr := track(t, p, c.day)
		assert.Equal(t, c.want, tr.Points[0].Value, c.name)
		assert.Len(t, tr.Events, int(c.want), c.name)
		assert.True(t, tr.Complete(), c.name)
	}
}

// In summer time 06:00 standard is 07:00 on the clock; a break of one hour ends it.
func TestLettuceReadsStandardTime(t *testing.T) {
	zone := location(t, "America/New_York")
	for _, c := range []struct {
		date     string
		from, to int // clock hours
		clock    string
		want     float64
	}{
		{"2026-06-01", 7, 11, "standard", 1},
		{"2026-06-01", 6, 10, "standard", 0},
		{"2026-06-01", 6, 10, "local", 1},
		{"2026-01-15", 6, 10, "standard", 1},
		{"2026-01-15", 7, 11, "standard", 0},
	} {
		day, err := civil.Parse(c.date)
		require.NoError(t, err)
		rule := decode(t, "wet-morning", "{hours: {humidity: 90}, clock: "+c.clock+", from: 6, at_least: 4, event: infection, start: {kind: in ground, standing: common practice}}")
		tr, err := rule.Run(&Input{Weather: sky(t, day, zone, morning(c.from, c.to, 10, 10)), Zone: zone, Start: day})
		require.NoError(t, err)
		assert.Equal(t, c.want, tr.Points[0].Value, "%+v", c)
	}
	// On the day the clocks go forward 06:00 is the sixth hour of the day.
	day := civil.New(2026, 3, 8)
	hours := morning(5, 9, 10, 10) // 06 to 10 by the clock
	rule := decode(t, "wet-morning", "{hours: {humidity: 90}, clock: local, from: 6, at_least: 4, event: infection, start: {kind: in ground, standing: common practice}}")
	tr, err := rule.Run(&Input{Weather: sky(t, day, zone, hours), Zone: zone, Start: day})
	require.NoError(t, err)
	assert.Equal(t, 1.0, tr.Points[0].Value)
}

func TestLettuceUnknown(t *testing.T) {
	p := decode(t, "wet-morning", lettuce)
	day := morning(2, 10, 15, 18)
	day[8].rh = nan
	tr := track(t, p, day)
	assert.Equal(t, []float64{0, 0, 1, 1}, []float64{tr.Points[0].Total, tr.Points[0].Low, tr.Points[0].High, float64(tr.Points[0].UnknownHours)})
	day[7].rh = 50 // it dried anyway
	tr = track(t, p, day)
	assert.Equal(t, 0.0, tr.Points[0].High)
	assert.True(t, tr.Complete())
	warm := morning(2, 10, 15, 18)
	warm[11].temp = nan
	tr = track(t, p, warm)
	assert.Equal(t, []float64{0, 1}, []float64{tr.Points[0].Low, tr.Points[0].High})
	// The series ends before the morning is over: not yet, and nothing unknown.
	tr = track(t, p, morning(2, 10, 15, 18)[:8])
	assert.Equal(t, 0.0, tr.Points[0].High)
	assert.True(t, tr.Complete())
}

// Onion downy mildew: 95 % or more without a break from 02:00 to dawn (Hildebrand
// & Sutton 1982, confirmed; dawn taken as 06:00), 4 to 24 C at night, not after a
// day of more than 8, 6, 4 or 2 h above 27, 28, 29 or 30 C (Gilles et al. 2004,
// confirmed). Rain after about 01:00 stops it (from memory).
const onion = "{hours: {humidity: 95}, clock: standard, from: 2, to: 6, at_least: 0, temperature_from: 4, temperature_to: 24, hot_day_before: [{above: 27, more_hours_than: 8}, {above: 28, more_hours_than: 6}, {above: 29, more_hours_than: 4}, {above: 30, more_hours_than: 2}], day_before_mean_below: 24, no_rain_from: 1, event: sporulation, start: {kind: in ground, standing: common practice}}"

// nightAfter is a day and the night after it: n hours of the afternoon at hot,
// and from 00:00 to 06:00 humid at temp.
func nightAfter(n int, hot, temp, rh float64) []hour {
	day := times(24, hour{20, 60, 0})
	for i := range n {
		day[10+i].temp = hot
	}
	return join(day, times(6, hour{temp, rh, 0}), times(18, hour{20, 60, 0}))
}

func TestOnionNights(t *testing.T) {
	p := decode(t, "humid-night", onion)
	change := func(hours []hour, at int, f func(h *hour)) []hour {
		f(&hours[at])
		return hours
	}
	for _, c := range []struct {
		name  string
		hours []hour
		want  float64
	}{
		{"humid, mild", nightAfter(0, 0, 15, 95), 1},
		{"94.9 %", nightAfter(0, 0, 15, 94.9), 0},
		{"a break at 04:00", change(nightAfter(0, 0, 15, 97), 28, func(h *hour) { h.rh = 85 }), 0},
		{"a break before 02:00", change(nightAfter(0, 0, 15, 97), 25, func(h *hour) { h.rh = 85 }), 1},
		{"4 C", nightAfter(0, 0, 4, 97), 1},
		{"3.9 C", nightAfter(0, 0, 3.9, 97), 0},
		{"24 C", nightAfter(0, 0, 24, 97), 1},
		{"24.1 C", nightAfter(0, 0, 24.1, 97), 0},
		{"8 h above 27", nightAfter(8, 27.5, 15, 97), 1},
		{"9 h above 27", nightAfter(9, 27.5, 15, 97), 0},
		{"6 h above 28", nightAfter(6, 28.5, 15, 97), 1},
		{"7 h above 28", nightAfter(7, 28.5, 15, 97), 0},
		{"2 h above 30", nightAfter(2, 30.5, 15, 97), 1},
		{"3 h above 30", nightAfter(3, 30.5, 15, 97), 0},
		{"3 h of just 30", nightAfter(3, 30, 15, 97), 1},
		{"rain at 03:00", change(nightAfter(0, 0, 15, 97), 27, func(h *hour) { h.rain = 0.2 }), 0},
		{"rain at 00:00", change(nightAfter(0, 0, 15, 97), 24, func(h *hour) { h.rain = 0.2 }), 1},
		{"rain at 01:00", change(nightAfter(0, 0, 15, 97), 25, func(h *hour) { h.rain = 0.2 }), 0},
	} {
		tr := track(t, p, c.hours)
		assert.Equal(t, c.want, tr.Points[1].Value, c.name)
		assert.Equal(t, c.want, tr.Points[1].Low+tr.Points[1].High-tr.Points[0].Low-tr.Points[0].High-c.want, "%s: surely", c.name)
	}
	// A warm day: its mean of 24 C or more prevents it (23 to 24, Hildebrand & Sutton).
	warm := join(times(24, hour{24, 60, 0}), times(6, hour{15, 97, 0}), times(18, dry))
	assert.Equal(t, 0.0, track(t, p, warm).Points[1].Value)
	warm[0].temp = 23
	assert.Equal(t, 1.0, track(t, p, warm).Points[1].Value)
}

// Basil downy mildew: at least 7.5 h of 95 % or more at night (Cohen & Ben-Naim
// 2016, confirmed), 8 by whole hours. The night begins in the evening before.
func TestBasilNights(t *testing.T) {
	p := decode(t, "humid-night", "{hours: {humidity: 95}, clock: local, from: 19, to: 7, at_least: 8, event: sporulation, start: {kind: in ground, standing: common practice}}")
	for n, want := range map[int]float64{7: 0, 8: 1, 12: 1} {
		tr := track(t, p, join(times(19, dry), times(n, hour{18, 95, 0}), times(29-n, dry)))
		assert.Equal(t, []float64{0, want}, values(tr), "%d h", n)
	}
	broken := join(times(19, dry), times(6, hour{18, 95, 0}), times(1, dry), times(5, hour{18, 95, 0}), times(17, dry))
	assert.Equal(t, []float64{0, 0}, values(track(t, p, broken)), "8 in a row")
	// The evening before the weather begins is unknown.
	tr := track(t, p, join(times(6, hour{18, 95, 0}), times(18, dry)))
	assert.Equal(t, []float64{0, 0, 1}, []float64{tr.Points[0].Value, tr.Points[0].Low, tr.Points[0].High})
	assert.False(t, tr.Complete())
}

// On the nights of a clock change the hours are those that the clock shows: 02:00
// does not come on 8 March 2026 in New York, and 01:00 comes twice on 1 November.
func TestNightsOfClockChanges(t *testing.T) {
	zone := location(t, "America/New_York")
	for _, c := range []struct {
		name, night string
		day         civil.Date
		wetFrom, n  int // hours after midnight that are humid
		want        float64
	}{
		{"02 to 06 is 03 to 06, three hours", "from: 2, to: 6", civil.New(2026, 3, 8), 2, 3, 1},
		{"of which none may miss", "from: 2, to: 6", civil.New(2026, 3, 8), 3, 2, 0},
		{"01 to 03 from the first 01:00 on, three hours", "from: 1, to: 3", civil.New(2026, 11, 1), 1, 3, 1},
		{"of which none may miss", "from: 1, to: 3", civil.New(2026, 11, 1), 2, 2, 0},
		{"a plain night", "from: 2, to: 6", civil.New(2026, 6, 8), 2, 4, 1},
	} {
		p := decode(t, "humid-night", "{hours: {humidity: 95}, clock: local, "+c.night+", at_least: 0, event: x, start: {kind: in ground, standing: common practice}}")
		hours := join(times(c.wetFrom, dry), times(c.n, hour{15, 97, 0}), times(20, dry))
		tr, err := p.Run(&Input{Weather: sky(t, c.day, zone, hours), Zone: zone, Start: c.day})
		require.NoError(t, err)
		assert.Equal(t, c.want, tr.Points[0].Value, "%s: %s", c.day, c.name)
	}
}
