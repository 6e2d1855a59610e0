package model

import (
	"math"
	"os"
	"regexp"
	"strings"

	"time"

	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"
	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/weather"
)

// decode makes a rule out of the text of its spec.
func decode(t require.TestingT, kind, text string) program {
	var node yaml.Node
	require.NoError(t, yaml.Unmarshal([]byte(text), &node))
	spec, faults := Decode(kind, "test.yaml", node.Content[0])
	require.NoError(t, faults.Err())
	return spec.(program)
}

const inGround = "\nstart: {kind: in ground, standing: common practice}\n"

// examples returns the rules of KINDS.md and some more variants of each kind.
func examples(t require.TestingT) []Spec {
	b, err := os.ReadFile("KINDS.md")
	require.NoError(t, err)
	var out []Spec
	for _, m := range regexp.MustCompile("(?s)```yaml\n(kind: .*?)```").FindAllStringSubmatch(string(b), -1) {
		text := strings.ReplaceAll(m[1], "tables: [...]", "tables: [{bands: [{from: 7.2, to: 11.6, steps: [{hours: 16, value: 1}]}, {from: 11.7, to: 26.6, steps: [{hours: 10, value: 1}, {hours: 13, value: 2}]}]}]")
		var doc struct {
			Kind string
			Spec yaml.Node
		}
		require.NoError(t, yaml.Unmarshal([]byte(text), &doc))
		spec, faults := Decode(doc.Kind, "KINDS.md", &doc.Spec)
		require.NoError(t, faults.Err())
		out = append(out, spec)
	}
	for _, v := range [][2]string{
		{"degree-days", "{method: double-sine, cutoff: vertical, lower: 10, upper: 30, unit: C, start: {kind: calendar, day: 01-01, exclusive: true, standing: confirmed}, stages: [{name: a, value: 0}, {name: b, value: 50}, {name: c, value: 51}]}"},
		{"degree-days", "{method: hourly, lower: 5, unit: C, input: soil, start: {kind: calendar, day: 03-01, standing: confirmed}, stages: [{name: a, value: 20}]}"},
		{"severity-table", "{unit: units, day: noon, hours: {humidity: 85, above: true}, count: sum of runs, mean_of: counted hours, temperature_unit: C, round_to: 1, sum_days: 3, reset_at_spray: true, tables: [{cultivar: susceptible, bands: [{from: 8, to: 12, steps: [{hours: 2, value: 1}]}, {from: 13, to: 22, steps: [{hours: 2, value: 2}, {hours: 5, value: 6}]}]}, {cultivar: resistant, bands: [{from: 8, to: 22, steps: [{hours: 3, value: 1}]}]}]," + inGround + ", stages: [{name: a, value: 4, cultivar: susceptible}, {name: b, value: 6, cultivar: resistant, spray: next}]}"},
		{"severity-table", "{unit: units, day: '09', hours: {wetness: {method: tree}}, count: longest run, mean_of: whole day, temperature_unit: F, round_to: 1, tables: [{bands: [{from: 40, to: 80, steps: [{hours: 2, value: 1}, {hours: 6, value: 3}]}]}]," + inGround + "}"},
		{"consecutive-days", "{day: '09', hours: {humidity: 80}, at_least: 3, min_temperature: 4, days: 3, event: x," + inGround + "}"},
		{"favourable-days", "{mean: {days: 1, at_least: 10, at_most: 24}, in_a_row: true," + inGround + ", stages: [{name: a, value: 3}]}"},
		{"infection-surface", "{unit: share, hours: {humidity: 85}, gap: 4, logit: {constant: -4.268, w: -0.0901, wt: 0.0294, wt3: -0.0000235}, tested: {hours_from: 2, hours_to: 32, temperature_from: 5, temperature_to: 30}, event_at: 0.05, event: x," + inGround + "}"},
		{"wet-period-table", "{hours: {wetness: {method: extended-humidity}}, gap: 3, night: {from: 19, to: 7}, temperature_unit: F, between: shorter, classes: [{event: light, needs: [{from: 40, hours: 3}, {from: 70, hours: 2}]}, {event: heavy, needs: [{from: 40, to: 80, hours: 6}]}]," + inGround + "}"},
		{"humid-night", "{hours: {humidity: 80}, clock: local, from: 20, to: 7, at_least: 4, event: x," + inGround + "}"},
		{"wet-morning", "{hours: {humidity: 80}, clock: local, from: 5, at_least: 2, event: x," + inGround + "}"},
	} {
		out = append(out, decode(t, v[0], strings.ReplaceAll(v[1], "\n", "")))
	}
	return out
}

var testZones = []string{"UTC", "America/New_York", "Europe/Dublin", "Australia/Lord_Howe", "Asia/Kathmandu", "America/Havana"}

// drawnSeries is hours of plausible weather with holes and forecasts, around a
// clock change.
func drawnSeries(t *rapid.T, n int) *weather.Series {
	starts := []string{"2026-03-01", "2026-10-20", "2026-03-27", "2026-09-28", "2026-06-01"}
	d, err := civil.Parse(rapid.SampledFrom(starts).Draw(t, "start"))
	require.NoError(t, err)
	s := weather.NewSeries(d.Start(time.UTC).Add(time.Duration(rapid.IntRange(0, 23).Draw(t, "hour"))*time.Hour), n)
	fill(t, s, 0)
	return s
}

// fill writes hours from from on. A seed and a few dials give more telling
// weather than thousands of draws, and shrink better.
func fill(t *rapid.T, s *weather.Series, from int) {
	measured, err := s.AddOrigin(weather.Origin{Source: "a", Kind: weather.Station})
	require.NoError(t, err)
	ahead, err := s.AddOrigin(weather.Origin{Source: "b", Kind: weather.Forecast})
	require.NoError(t, err)
	seed := rapid.Uint64().Draw(t, "seed")
	next := func() float64 {
		seed ^= seed << 13
		seed ^= seed >> 7
		seed ^= seed << 17
		return float64(seed>>11) / (1 << 53)
	}
	seed = seed*2862933555777941757 + 3037000493
	holes := rapid.SampledFrom([]float64{0, 0, 0.01, 0.2}).Draw(t, "holes")
	warm := rapid.Float64Range(0, 25).Draw(t, "warm")
	damp := rapid.Float64Range(60, 100).Draw(t, "damp")
	forecastFrom := rapid.IntRange(from, s.Len()+20).Draw(t, "forecast from")
	for i := from; i < s.Len(); i++ {
		o := measured
		if i >= forecastFrom {
			o = ahead
		}
		phase := math.Sin(float64(i%24) / 24 * 2 * math.Pi)
		set := func(v weather.Var, x float64) {
			if next() < holes {
				x = math.NaN()
			}
			s.Set(v, i, x, o)
		}
		temp := warm + 8*phase + 4*next()
		rh := min(100, damp-15*phase+10*next())
		set(weather.Temp, temp)
		set(weather.RH, rh)
		set(weather.DewPoint, weather.DewPointFromRH(temp, rh))
		set(weather.Wind, 4*next())
		set(weather.Soil, warm+3*phase)
		rain := 0.0
		if next() < 0.05 {
			rain = 5 * next()
		}
		set(weather.Rain, rain)
	}
}

func drawnInput(t *rapid.T, s *weather.Series) *Input {
	zone, err := time.LoadLocation(rapid.SampledFrom(testZones).Draw(t, "zone"))
	require.NoError(t, err)
	first := civil.Of(s.Start(), zone)
	in := &Input{
		Weather: s, Zone: zone, Start: first.AddDays(rapid.IntRange(-3, 6).Draw(t, "start day")),
		Susceptibility: rapid.SampledFrom([]garden.Susceptibility{"", garden.Susceptible, garden.Resistant}).Draw(t, "cultivar"),
		Cover:          rapid.SampledFrom([]garden.Cover{"", garden.Tunnel}).Draw(t, "cover"),
	}
	if rapid.Bool().Draw(t, "has now") {
		in.Now = s.Time(rapid.IntRange(0, s.Len()).Draw(t, "now"))
	}
	for range rapid.IntRange(0, 3).Draw(t, "sprays") {
		in.Resets = append(in.Resets, first.AddDays(rapid.IntRange(-4, 25).Draw(t, "spray")))
	}
	for i := 0; i < s.Len() && rapid.Bool().Draw(t, "more water"); i += 20 {
		in.Irrigated = append(in.Irrigated, i)
	}
	return in
}

type civilDate = civil.Date

func hours(n int) time.Duration { return time.Duration(n) * time.Hour }
