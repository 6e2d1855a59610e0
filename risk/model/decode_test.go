package model

import (
	"math"
	"os"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"

	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

// Every fault names its place and what would be right.
func TestDecodeFaults(t *testing.T) {
	const start = "start: {kind: in ground, standing: common practice}"
	table := func(bands string) string {
		return "{unit: u, day: calendar, hours: {humidity: 90}, count: total, mean_of: counted hours, temperature_unit: C, round_to: 1, tables: [{bands: [" + bands + "]}], " + start + "}"
	}
	for _, c := range []struct{ kind, spec, want string }{
		{"degree-dais", "{}", `1:1: kind "degree-dais" is not known; did you mean "degree-days"?`},
		{"degree-days", "{metod: average, lower: 50, unit: F, " + start + "}", `1:2: key "metod" is not known; did you mean "method"?`},
		{"degree-days", "{lower: 50, unit: F, " + start + "}", `1:1: key "method" is missing`},
		{"degree-days", "{method: average, unit: F, " + start + "}", `key "lower" is missing`},
		{"degree-days", "{method: average, lower: 50, " + start + "}", `key "unit" is missing: F or C`},
		{"degree-days", "{method: average, lower: 50, unit: K, " + start + "}", `1:36: unit: unit "K" is not C or F`},
		{"degree-days", "{method: single-sine, lower: 90, upper: 50, cutoff: horizontal, unit: F, " + start + "}", "not below the upper threshold"},
		{"degree-days", "{method: average, lower: 50, upper: 86, unit: F, " + start + "}", "average-clip-each"},
		{"degree-days", "{method: average, lower: fifty, unit: F, " + start + "}", `"fifty" is not a number`},
		{"degree-days", "{method: average, lower: 50, unit: F, input: water, " + start + "}", `"water" is not one of: air, soil`},
		{"degree-days", "{method: average, lower: 50, unit: F}", `key "start" is missing`},
		{"degree-days", "{method: average, lower: 50, unit: F, start: {kind: calendar, standing: confirmed}}", "a calendar start needs a day of the year"},
		{"degree-days", "{method: average, lower: 50, unit: F, start: {kind: calendar, day: 02-30, standing: confirmed}}", "not a day of the year"},
		{"degree-days", "{method: average, lower: 50, unit: F, start: {kind: catch, standing: confirmed}}", "start.event: say what has to be seen"},
		{"degree-days", "{method: average, lower: 50, unit: F, start: {kind: in ground, day: 01-01, standing: confirmed}}", "only a calendar start has a day"},
		{"degree-days", "{method: average, lower: 50, unit: F, start: {kind: in ground}}", "start.standing: say how far the start was checked"},
		{"degree-days", "{method: average, lower: 50, unit: F, start: {kind: in ground, standing: sure}}", `"sure" is not one of`},
		{"degree-days", "{method: average, lower: 50, unit: F, " + start + ", stages: [{name: a, value: 9}, {name: b, value: 3}]}", "stages[1].value: 3 is below the stage before it"},
		{"degree-days", "{method: average, lower: 50, unit: F, " + start + ", stages: [{name: a, value: 9}, {name: a, value: 10}]}", `"a" stands twice`},
		{"degree-days", "{method: average, lower: 50, unit: F, " + start + ", stages: [{name: a}]}", "say at what total the stage is reached"},
		{"degree-days", "{method: average, lower: 50, unit: F, " + start + ", stages: [{name: a, value: 150, through: 100}]}", "through: 100 is not above value 150"},
		{"degree-days", "{method: average, lower: 50, unit: F, " + start + ", stages: [{name: a, value: 1, source: {text: x}}]}", "give text and standing together"},
		{"degree-days", "[a]", "want keys and values, not a list"},
		{"severity-table", table(""), "has no bands"},
		{"severity-table", table("{from: 10, to: 12}, {from: 12, to: 14}"), "from 12 is not above the band before it"},
		{"severity-table", table("{from: 10, to: 12}, {from: 14, to: 16}"), "temperatures between 12 and 14 have no band"},
		{"severity-table", table("{from: 12, to: 10}"), "from 12 is above to 10"},
		{"severity-table", table("{from: 10.5, to: 12}"), "must be multiples of round_to 1"},
		{"severity-table", table("{from: 10, to: 12, steps: [{hours: 7, value: 1}, {hours: 5, value: 2}]}"), "hours and values must rise"},
		{"severity-table", table("{from: 10, to: 12, steps: [{hours: 7.5, value: 1}]}"), "7.5 is not a whole number from 1 to 25"},
		{"severity-table", table("{from: 10, to: 12, steps: [{hours: 0, value: 1}]}"), "0 is not a whole number"},
		{"severity-table", "{unit: u, day: tuesday, hours: {humidity: 90}, " + start + "}", `"tuesday" is not one of: calendar, noon, 09, 06`},
		{"severity-table", "{unit: u, day: noon, hours: {humidity: 90, wetness: {method: humidity}}, " + start + "}", "exclude each other"},
		{"severity-table", "{unit: u, day: noon, hours: {humidity: 190}, " + start + "}", "190 is not from 1 to 100"},
		{"severity-table", "{unit: u, day: noon, hours: {above: true}, " + start + "}", "say humidity (a limit in %) or wetness (a method)"},
		{"severity-table", "{unit: u, day: noon, hours: {wetness: {method: daily-extremes}}, " + start + "}", "not which hours they are"},
		{"severity-table", "{unit: u, day: noon, hours: {wetness: {method: humidity, treshold: 90}}, " + start + "}", `did you mean "threshold"?`},
		{"consecutive-days", "{day: calendar, hours: {humidity: 90}, at_least: 25, min_temperature: 10, days: 2, event: x, " + start + "}", "at_least: 25 is not from 1 to 23"},
		{"consecutive-days", "{day: calendar, hours: {humidity: 90}, at_least: 6, days: 2, event: x, " + start + "}", `key "min_temperature" is missing`},
		{"consecutive-days", "{day: calendar, hours: {humidity: 90}, at_least: 6, min_temperature: 10, days: 2, " + start + "}", `key "event" is missing`},
		{"favourable-days", "{mean: {days: 5}, " + start + "}", "give at_least, at_most or below"},
		{"favourable-days", "{mean: {days: 5, below: 25, at_most: 25}, " + start + "}", "exclude each other"},
		{"p-days", "{lower: 21, best: 7, upper: 30, " + start + "}", "must rise"},
		{"infection-model", "{" + leafWet + ", gap: 6, temperature_min: 4, temperature_best: 3, temperature_max: 30, wet_min: 2, event: x, " + start + "}", "must rise"},
		{"infection-model", "{" + leafWet + ", gap: 6, temperature_min: 4, temperature_best: 20, temperature_max: 30, wet_min: 6, wet_max: 5, event: x, " + start + "}", "wet_max: 5 is not from wet_min to 200"},
		{"infection-model", "{" + leafWet + ", gap: 0, temperature_min: 4, temperature_best: 20, temperature_max: 30, wet_min: 6, event: x, " + start + "}", "gap: 0 is not from 1 to 72"},
		{"wet-period-table", "{" + leafWet + ", gap: 1, temperature_unit: C, between: longer, classes: [{event: x, needs: [{from: 10, hours: 6}, {from: 9, hours: 6}]}], " + start + "}", "from: 9 is not above the row before it"},
		{"wet-period-table", "{" + leafWet + ", gap: 1, temperature_unit: C, between: longer, night: {from: 5, to: 7}, classes: [{event: x, needs: [{from: 10, hours: 6}]}], " + start + "}", "must be in the evening"},
		{"infection-surface", "{unit: u, " + leafWet + ", gap: 1, tested: {hours_from: 6, hours_to: 48, temperature_from: 8, temperature_to: 32}, " + start + "}", "give either beta or logit"},
		{"infection-surface", "{unit: u, " + leafWet + ", gap: 1, beta: {low: 9, high: 8}, tested: {hours_from: 6, hours_to: 48, temperature_from: 8, temperature_to: 32}, " + start + "}", "low must be below high"},
		{"wet-morning", "{" + leafWet + ", clock: standard, from: 20, at_least: 6, event: x, " + start + "}", "run past midnight"},
		{"humid-night", "{hours: {humidity: 95}, clock: local, from: 6, to: 2, event: x, " + start + "}", "from: 6 is not before to 2"},
		{"humid-night", "{hours: {humidity: 95}, clock: local, from: 2, to: 6, at_least: 5, event: x, " + start + "}", "at_least: 5 is not from 0 to 4"},
		{"mildew-index", "{temperature_unit: F, warm_from: 85, warm_to: 70, warm_hours: 6, hot_from: 95, rise: 20, fall: 10, start_days: 3, ceiling: 100, " + start + "}", "must rise"},
		{"mildew-index", "{temperature_unit: F, warm_from: 70, warm_to: 85, warm_hours: 6, hot_from: 95, rise: 20.5, fall: 10, start_days: 3, ceiling: 100, " + start + "}", "20.5 is not a whole number"},
		{"mildew-index", "{temperature_unit: F, warm_from: 70, warm_to: 85, warm_hours: 6, hot_from: 95, rise: 1, fall: 1, start_days: 3, ceiling: 100, " + start + "}", "no common step"},
		{"spray-matrix", "{severity: {start: {kind: in ground, standing: confirmed}}, " + start + "}", "the nested rule has none"},
		{"blossom-heat", "{temperature_unit: F, heat_above: 65, heat_total: 198, window_above: 40, window_total: 80, mean_at_least: 60, event: x, " + start + "}", `key "wetting" is missing`},
	} {
		var node yaml.Node
		require.NoError(t, yaml.Unmarshal([]byte(c.spec), &node), c.spec)
		spec, faults := Decode(c.kind, "f.yaml", node.Content[0])
		assert.Nil(t, spec, c.spec)
		assert.ErrorContains(t, faults.Err(), c.want, c.spec)
		for _, f := range faults {
			assert.Equal(t, "f.yaml", f.File)
			assert.Positive(t, f.Line, "%s: %s", c.spec, f.Message)
		}
	}
	spec, faults := Decode("p-days", "f.yaml", nil)
	assert.Nil(t, spec)
	assert.ErrorContains(t, faults.Err(), "no parameters")
	assert.Len(t, Kinds(), len(kinds))
}

// A value that could not be read is complained of once.
func TestDecodeDoesNotRepeatItself(t *testing.T) {
	var node yaml.Node
	require.NoError(t, yaml.Unmarshal([]byte("lower: seven\nbest: 21\nupper: 30\nstart: {kind: in ground, standing: confirmed}"), &node))
	_, faults := Decode("p-days", "f.yaml", node.Content[0])
	assert.Len(t, faults, 1)
	assert.Equal(t, `f.yaml:1:8: lower: "seven" is not a number`, faults.Error())
}

// The counting of states by their bytes rests on these numbers.
func TestStatesAreBytes(t *testing.T) {
	assert.Equal(t, []wetness.State{0, 1, 2}, []wetness.State{wetness.Unknown, wetness.Dry, wetness.Wet})
	assert.Equal(t, weather.Var(0), weather.Temp)
}

// Whatever a data file says, decoding ends with a rule that runs or with faults,
// and a rule that runs keeps its bounds.
func FuzzDecode(f *testing.F) {
	b, err := os.ReadFile("KINDS.md")
	require.NoError(f, err)
	for _, m := range regexp.MustCompile("(?s)```yaml\nkind: (\\S+)\nspec:\n?(.*?)```").FindAllStringSubmatch(string(b), -1) {
		f.Add(m[1], m[2])
	}
	f.Add("severity-table", tomatoTable)
	f.Add("severity-table", blightUnits)
	f.Add("infection-model", genericScab)
	f.Add("humid-night", onion)
	f.Add("mildew-index", gubler)
	f.Add("spray-matrix", "{severity: "+bare(wallinTable)+"}")
	var hours []hour
	for i := range 24 * 4 {
		hours = append(hours, hour{15 + 10*math.Sin(float64(i)/4), 80 + 20*math.Cos(float64(i)/4), float64(i % 7 / 6)})
	}
	hours[30] = unknown
	w := sky(f, firstDay, time.UTC, hours)
	f.Fuzz(func(t *testing.T, kind, text string) {
		var node yaml.Node
		if len(text) > 4000 || yaml.Unmarshal([]byte(text), &node) != nil || len(node.Content) == 0 {
			return
		}
		spec, faults := Decode(kind, "f.yaml", node.Content[0])
		if (spec == nil) == (len(faults) == 0) {
			t.Fatalf("rule %v with faults %v", spec, faults)
		}
		if spec == nil {
			return
		}
		tr, err := spec.Run(&Input{Weather: w, Start: firstDay})
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range tr.Points {
			if !(p.Low <= p.Total && p.Total <= p.High && p.Low >= 0 && p.Value >= 0) || math.IsInf(p.High, 0) {
				t.Fatalf("%s: %+v", text, p)
			}
		}
		Describe(spec)
	})
}
