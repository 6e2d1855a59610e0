package model

import (
	"fmt"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/garden"
)

// wallinTable is Wallin 1962 with the C bands (from memory).
const wallinTable = `{unit: severity values, day: calendar, hours: {humidity: 90}, count: total, mean_of: counted hours, temperature_unit: C, round_to: 0.1,
  tables: [{bands: [
    {from: 7.2, to: 11.6, steps: [{hours: 16, value: 1}, {hours: 19, value: 2}, {hours: 22, value: 3}, {hours: 25, value: 4}]},
    {from: 11.7, to: 15.0, steps: [{hours: 13, value: 1}, {hours: 16, value: 2}, {hours: 19, value: 3}, {hours: 22, value: 4}]},
    {from: 15.1, to: 26.6, steps: [{hours: 10, value: 1}, {hours: 13, value: 2}, {hours: 16, value: 3}, {hours: 19, value: 4}]}]}],
  start: {kind: in ground, standing: common practice}}`

// blightUnits is Fry, Apple & Bruhn 1983, the class of susceptible cultivars and
// that of resistant ones (risk/disease/testdata/blight_units.csv).
const blightUnits = `{unit: blight units, day: noon, hours: {humidity: 90}, count: sum of runs, mean_of: counted hours, temperature_unit: C, round_to: 1,
  tables: [
    {cultivar: susceptible, bands: [
      {from: 3, to: 7, steps: [{hours: 10, value: 1}, {hours: 13, value: 2}, {hours: 16, value: 3}, {hours: 19, value: 4}]},
      {from: 8, to: 12, steps: [{hours: 7, value: 1}, {hours: 8, value: 2}, {hours: 10, value: 3}, {hours: 11, value: 4}, {hours: 13, value: 5}, {hours: 16, value: 6}]},
      {from: 13, to: 22, steps: [{hours: 7, value: 5}, {hours: 10, value: 6}, {hours: 13, value: 7}]},
      {from: 23, to: 27, steps: [{hours: 7, value: 1}, {hours: 10, value: 2}, {hours: 13, value: 3}, {hours: 16, value: 4}, {hours: 19, value: 5}]}]},
    {cultivar: resistant, bands: [
      {from: 3, to: 7, steps: [{hours: 19, value: 1}]},
      {from: 8, to: 12, steps: [{hours: 10, value: 1}, {hours: 13, value: 2}, {hours: 16, value: 3}]},
      {from: 13, to: 22, steps: [{hours: 7, value: 1}, {hours: 8, value: 2}, {hours: 9, value: 3}, {hours: 10, value: 4}, {hours: 13, value: 5}]},
      {from: 23, to: 27, steps: [{hours: 16, value: 1}]}]}],
  stages: [{name: spray, value: 30, cultivar: susceptible}, {name: spray resistant, value: 40, cultivar: resistant}],
  reset_at_spray: true, start: {kind: in ground, standing: common practice}}`

func humidAt(temp float64) hour { return hour{temp, 95, 0} }

// Every boundary row of the derived tables, one a day: the humid hours at the
// row's mean, the others dry and at 30 C, which must not enter the mean.
func TestSeverityBoundaryRowsThroughWholeDays(t *testing.T) {
	for _, c := range []struct{ file, table, temp, hours, value string }{
		{"wallin_boundaries.csv", wallinTable, "mean_temp_c_during_rh90", "hours_rh90", "severity"},
		{"tomato_boundaries.csv", tomatoTable, "mean_wet_temp_c", "wet_hours", "dsv"},
	} {
		var weather []hour
		var want []float64
		for _, r := range cases(t, c.file) {
			if n := int(r[c.hours]); n <= 24 { // no day has more
				weather = join(weather, times(n, humidAt(r[c.temp])), times(24-n, dry))
				want = append(want, r[c.value])
			}
		}
		tr := track(t, decode(t, "severity-table", c.table), weather)
		assert.Equal(t, want, values(tr), c.file)
		sum := 0.0
		for i, v := range want {
			sum += v
			assert.Equal(t, sum, tr.Points[i].Total)
		}
		assert.True(t, tr.Complete())
	}
}

// Humidity of 90 % counts where the rule says "or more" and not where it says
// "above".
func TestHumidityLimit(t *testing.T) {
	at := times(24, hour{20, 90, 0})
	assert.Equal(t, []float64{4}, values(track(t, decode(t, "severity-table", wallinTable), at)))
	above := strings.Replace(wallinTable, "{humidity: 90}", "{humidity: 90, above: true}", 1)
	assert.Equal(t, []float64{0}, values(track(t, decode(t, "severity-table", above), at)))
}

// Midnight splits a wet night in two and lowers its score; a day from noon does
// not, and is dated on the day it ends.
func TestWhatTheDayIs(t *testing.T) {
	night := join(times(20, dry), times(12, humidAt(18)), times(16, dry)) // 20 to 08
	for _, c := range []struct {
		day  string
		want map[string]float64 // days that score
	}{
		{"calendar", map[string]float64{}}, // 4 h and 8 h
		{"noon", map[string]float64{"2026-06-02": 1}},
		{"'09'", map[string]float64{"2026-06-01": 1}},
		{"'06'", map[string]float64{"2026-06-01": 1}}, // its first 10 h; the last 2 fall to the second
	} {
		p := decode(t, "severity-table", strings.Replace(wallinTable, "day: calendar", "day: "+c.day, 1))
		tr, err := p.Run(&Input{Weather: sky(t, firstDay, time.UTC, night), Start: firstDay.AddDays(-1)})
		require.NoError(t, err)
		got := map[string]float64{}
		for _, pt := range tr.Points {
			if pt.Value > 0 {
				got[pt.Date.String()] = pt.Value
			}
		}
		assert.Equal(t, c.want, got, c.day)
	}
}

// Two runs of 7 humid hours at 15 C make 5 + 5 blight units; as one run of 14
// they would make 7, and the longest of them alone makes 5.
func TestRunsAreScoredApart(t *testing.T) {
	runs := join(times(12, dry), times(7, humidAt(15)), times(1, dry), times(7, humidAt(15)), times(21, dry))
	for count, want := range map[string]float64{"sum of runs": 10, "total": 7, "longest run": 5} {
		p := decode(t, "severity-table", strings.Replace(blightUnits, "count: sum of runs", "count: "+count, 1))
		tr := track(t, p, runs)
		require.Len(t, tr.Points, 3)
		assert.Equal(t, []float64{0, want, 0}, values(tr), count)
	}
	// Each run by its own mean: 7 h at 15 C and 7 h at 25 C are 5 + 1.
	tr := track(t, decode(t, "severity-table", blightUnits), join(times(12, dry), times(7, humidAt(15)), times(1, dry), times(7, humidAt(25)), times(9, dry)))
	assert.Equal(t, []float64{0, 6}, values(tr))
}

func TestCultivarClass(t *testing.T) {
	p := decode(t, "severity-table", blightUnits)
	in := &Input{Weather: sky(t, firstDay, time.UTC, times(24*8, humidAt(15))), Start: firstDay}
	// Susceptible: 6 for the 12 known hours of the first day from noon, then 7 a
	// day: 34 on the fifth. Resistant: 4, then 5 a day: 44 on the ninth.
	for c, want := range map[garden.Susceptibility]struct {
		value float64
		stage string
	}{
		"":                         {7, "06-05 crossing spray"}, // not said: susceptible
		garden.Susceptible:         {7, "06-05 crossing spray"},
		garden.ModeratelyResistant: {7, "06-05 crossing spray"}, // no table of its own: the cautious one, but no stage
		garden.Resistant:           {5, "06-09 crossing spray resistant"},
	} {
		in.Susceptibility = c
		tr, err := p.Run(in)
		require.NoError(t, err)
		assert.Equal(t, want.value, tr.Points[1].Value, "%q", c)
		if c == garden.ModeratelyResistant {
			assert.Empty(t, tr.Events)
			continue
		}
		assert.Equal(t, []string{want.stage}, events(tr), "%q", c)
	}
}

// The first spray is due at 35, later ones at 20 counted from the spray, after
// Gleason 2009. The day of the spray itself does not count.
func TestSprayPutsTheSumBack(t *testing.T) {
	p := decode(t, "severity-table", strings.Replace(tomatoTable, "start:", "reset_at_spray: true, stages: [{name: first spray, value: 35, spray: first}, {name: next spray, value: 20, spray: next}], start:", 1))
	in := &Input{Weather: sky(t, firstDay, time.UTC, times(24*20, humidAt(22))), Start: firstDay} // 4 a day
	tr, err := p.Run(in)
	require.NoError(t, err)
	assert.Equal(t, []string{"06-09 crossing first spray"}, events(tr))

	in.Resets = []civil.Date{firstDay.AddDays(10)}
	tr, err = p.Run(in)
	require.NoError(t, err)
	assert.Equal(t, []string{"06-09 crossing first spray", "06-11 reset spray", "06-16 crossing next spray"}, events(tr))
	assert.Equal(t, 44.0, tr.Events[1].Value, "what the spray put back")
	assert.Equal(t, []float64{40, 0, 4}, totals(tr)[9:12])
	assert.Equal(t, 4.0, tr.Points[10].Value, "the day keeps its own value")

	// A rule that does not re-zero keeps its sum.
	in.Resets = []civil.Date{firstDay.AddDays(2)}
	keep, err := decode(t, "severity-table", tomatoTable).Run(in)
	require.NoError(t, err)
	assert.Equal(t, 80.0, keep.Points[19].Total)
	assert.Empty(t, keep.Events)
}

func TestSumOfLastDays(t *testing.T) {
	p := decode(t, "severity-table", strings.Replace(tomatoTable, "start:", "sum_days: 7, stages: [{name: spray, value: 5}], start:", 1))
	tr := track(t, p, join(times(48, humidAt(22)), times(24*8, dry), times(48, humidAt(22))))
	assert.Equal(t, []float64{4, 8, 8, 8, 8, 8, 8, 4, 0, 0, 4, 8}, totals(tr))
	assert.Equal(t, []string{"06-02 crossing spray", "06-12 crossing spray"}, events(tr), "each time the sum rises to it")
}

func TestMeanOfTheWholeDay(t *testing.T) {
	day := join(times(12, humidAt(10)), times(12, hour{20, 50, 0}))
	table := strings.Replace(tomatoTable, "counted hours", "whole day", 1)
	assert.Equal(t, []float64{1}, values(track(t, decode(t, "severity-table", table), day)), "15 C")
	assert.Equal(t, []float64{0}, values(track(t, decode(t, "severity-table", tomatoTable), day)), "10 C")
}

// Unknown hours are not dry: the value counts what is known, and the bounds say
// what the day may have been.
func TestUnknownHoursWidenTheBounds(t *testing.T) {
	for _, c := range []struct {
		name             string
		day              []hour
		value, low, high float64
		unknown          int
	}{
		// 12 h wet at 22 C are 2. Four more at 22 C make 16 h: 3.
		{"humidity", join(times(12, humidAt(22)), times(4, hour{22, nan, 0}), times(8, dry)), 2, 2, 3, 4},
		// 12 h wet at 22 C and 4 of 28 C: 16 h at 23.5 C are 3. Of 40 C: at most 16 h
		// at 26.5 C in the band 26-29 (27 after rounding): 3; 13 h at 23.4 C: 3.
		{"humidity by day", join(times(12, humidAt(22)), times(4, hour{40, nan, 0}), times(8, dry)), 2, 2, 3, 4},
		// The temperature of one of 12 wet hours is unknown: between -60 and 60 C the
		// mean lies between 15.2 and 25.2 C.
		{"temperature", join(times(11, humidAt(22)), times(1, hour{nan, 95, 0}), times(12, dry)), 2, 1, 2, 1},
		{"all", times(24, unknown), 0, 0, 4, 24},
		{"none", join(times(12, humidAt(22)), times(12, dry)), 2, 2, 2, 0},
	} {
		tr := track(t, decode(t, "severity-table", tomatoTable), c.day)
		p := tr.Points[0]
		assert.Equal(t, []float64{c.value, c.low, c.high}, []float64{p.Total, p.Low, p.High}, c.name)
		assert.Equal(t, c.unknown, p.UnknownHours, c.name)
		assert.Equal(t, c.unknown == 0, tr.Complete(), c.name)
	}
}

// Hours of the first day that lie before the weather are unknown, of any temperature.
func TestHoursBeforeTheWeather(t *testing.T) {
	hours := join(times(12, humidAt(22)), times(6, dry), times(24, dry))
	s := sky(t, firstDay, location(t, "Etc/GMT-6"), hours) // begins at 18:00 UTC on 31 May
	tr, err := decode(t, "severity-table", tomatoTable).Run(&Input{Weather: s, Zone: location(t, "Etc/GMT-12"), Start: firstDay})
	require.NoError(t, err)
	// The local day began 6 hours before. 12 h at 22 C are 2; with 6 h more of up to
	// 60 C or down to -60 C the day is 0 to 3.
	p := tr.Points[0]
	assert.Equal(t, []float64{2, 0, 3, 6}, []float64{p.Value, p.Low, p.High, float64(p.UnknownHours)})
	assert.Equal(t, 6, tr.Points[1].UnknownHours)
}

// The day of a clock change has 23 or 25 hours, and all of them count.
func TestClockChangeDays(t *testing.T) {
	byHours := `{unit: hours, day: %s, hours: {humidity: 90}, count: total, mean_of: counted hours, temperature_unit: C, round_to: 1,
	  tables: [{bands: [{from: 0, to: 40, steps: [{hours: 22, value: 22}, {hours: 23, value: 23}, {hours: 24, value: 24}, {hours: 25, value: 25}]}]}],
	  start: {kind: in ground, standing: common practice}}`
	for _, c := range []struct {
		zone, first string
		want        []float64
	}{
		{"America/New_York", "2026-03-07", []float64{24, 23, 24}},
		{"America/New_York", "2026-10-31", []float64{24, 25, 24}},
		{"Europe/London", "2026-03-28", []float64{24, 23, 24}},
		{"America/Havana", "2026-10-31", []float64{24, 25, 24}},   // midnight comes twice
		{"America/Santiago", "2026-09-05", []float64{24, 23, 24}}, // no midnight
		{"UTC", "2026-03-07", []float64{24, 24, 24}},
	} {
		day, err := civil.Parse(c.first)
		require.NoError(t, err)
		zone := location(t, c.zone)
		s := sky(t, day, zone, times(24*4, humidAt(20)))
		tr, err := decode(t, "severity-table", fmt.Sprintf(byHours, "calendar")).Run(&Input{Weather: s, Zone: zone, Start: day})
		require.NoError(t, err)
		assert.Equal(t, c.want, values(tr)[:3], "%s %s", c.zone, c.first)
		noon, err := decode(t, "severity-table", fmt.Sprintf(byHours, "noon")).Run(&Input{Weather: s, Zone: zone, Start: day + 1})
		require.NoError(t, err)
		sum := 0.0
		for _, v := range values(noon)[:2] {
			sum += v
		}
		assert.Equal(t, 24+c.want[1], sum, "from noon the long or short night is one of two: %s %s", c.zone, c.first)
	}
}

// More humid hours of the same temperature never lower a day's value or a total.
func TestSeverityRisesWithWetHours(t *testing.T) {
	rules := []program{decode(t, "severity-table", wallinTable), decode(t, "severity-table", tomatoTable)}
	rapid.Check(t, func(t *rapid.T) {
		temp := rapid.Float64Range(0, 35).Draw(t, "temp")
		one := make([]hour, 72)
		for i := range one {
			one[i] = hour{temp, rapid.SampledFrom([]float64{50, 89.9, 90, 95}).Draw(t, "rh"), 0}
		}
		two := append([]hour(nil), one...)
		for range rapid.IntRange(1, 10).Draw(t, "more") {
			two[rapid.IntRange(0, 71).Draw(t, "at")].rh = 95
		}
		for _, p := range rules {
			a, err := p.Run(&Input{Weather: sky(t, firstDay, time.UTC, one), Start: firstDay})
			require.NoError(t, err)
			b, err := p.Run(&Input{Weather: sky(t, firstDay, time.UTC, two), Start: firstDay})
			require.NoError(t, err)
			for i := range a.Points {
				require.LessOrEqual(t, a.Points[i].Value, b.Points[i].Value)
				require.LessOrEqual(t, a.Points[i].Total, b.Points[i].Total)
			}
		}
	})
}
