package garden

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/strict"
)

const materialsText = `
materials:
  - id: copper
    ingredient: copper octanoate
    kind: copper
    label_date: 2025-03-01
    crops: [tomato, potato]
    interval_days: 7
    pre_harvest_days: 0
    re_entry_hours: 4
    min_temp: 50 F
    max_temp: 32 C
    max_wind: 10 mph
    do_not_mix: [soap]
    follow_up: {text: rinse the sprayer, after_hours: 1}
  - id: peel-tea
    name: onion-peel tea
    kind: home mix
    crops: [cucumber]
    follow_up: {text: rinse the leaves, at: "07:00"}
`

type materialsFile struct {
	Materials []Material `yaml:"materials"`
}

func TestMaterialKeepsWhatTheLabelSaysAndNothingElse(t *testing.T) {
	var f materialsFile
	_, faults := strict.Decode("m.yaml", strings.NewReader(materialsText), &f)
	require.NoError(t, faults.Err())
	assert.Empty(t, CheckMaterials(f.Materials))
	c := f.Materials[0]
	// 50 F is 10 C and 10 mph 4.4704 m/s (NIST SP 811, B.8).
	assert.InDelta(t, 10, float64(*c.MinTemp), 1e-9)
	assert.InDelta(t, 4.4704, float64(*c.MaxWind), 1e-9)
	require.NotNil(t, c.PreHarvestDays)
	assert.Equal(t, 0, *c.PreHarvestDays, "0 days is a label's value and not the same as not said")
	assert.Equal(t, []string{"most uses in a season"}, c.Unsaid())
	assert.Empty(t, f.Materials[1].Unsaid(), "a home mix has no label")

	var nothing Material
	assert.Nil(t, nothing.MaxTemp)
	assert.Nil(t, nothing.PreHarvestDays)
	assert.Len(t, nothing.Unsaid(), 6, "nothing is filled in")

	allowed, said := c.Allows("Tomato")
	assert.True(t, allowed && said)
	allowed, said = c.Allows("kale")
	assert.True(t, !allowed && said)
	_, said = nothing.Allows("kale")
	assert.False(t, said)
}

func TestMaterialJSONRoundTrip(t *testing.T) {
	var f materialsFile
	_, faults := strict.Decode("m.yaml", strings.NewReader(materialsText), &f)
	require.NoError(t, faults.Err())
	b, err := json.Marshal(f.Materials)
	require.NoError(t, err)
	var back []Material
	require.NoError(t, json.Unmarshal(b, &back))
	*f.Materials[0].MaxWind = *back[0].MaxWind // written to two digits
	assert.Equal(t, f.Materials, back)
	assert.NotContains(t, string(b), "seasonMax", "what is not said is not written")
}

func TestMaterialFaultsNameTheFix(t *testing.T) {
	for in, want := range map[string]string{
		"{id: a, ingredient: x, max_temp: 90}":                         "write the unit that the label uses",
		"{id: a, ingredient: x, max_temp: hot}":                        "is not a temperature",
		"{id: a, ingredient: x, max_wind: 10}":                         "write the unit",
		"{id: a, ingredient: x, max_wind: -1 mph}":                     "below 0",
		"{id: a, ingredient: x, kind: magic}":                          "not one of: protectant",
		"{id: a, ingredient: x, bees: love it}":                        "not one of: when bees are away",
		`{id: a, ingredient: x, follow_up: {text: rinse, at: "7 am"}}`: "not a time of day",
		"{id: a, ingredient: x, follow_up: {text: rinse}}":             "follow_up has no time",
		"{id: a, ingredient: x, follow_up: {after_hours: 2}}":          "follow_up has no text",
		"{id: a}":                                                                   "has no ingredient",
		"{ingredient: x}":                                                           "material has no id",
		"{id: a, ingredient: x, crops: [tomat]}":                                    `did you mean "tomato"`,
		"{id: a, ingredient: x, season_max: -1}":                                    "season_max -1 is below 0",
		"{id: a, ingredient: x, drying_hours: -1}":                                  "drying_hours -1 is below 0",
		"{id: a, ingredient: x, min_temp: 90 F, max_temp: 30 C}":                    "above max_temp",
		"{id: a, ingredient: x, do_not_mix: [a]}":                                   "names the material itself",
		`{id: a, ingredient: x, follow_up: {text: t, at: "07:00", after_hours: 2}}`: "two times",
	} {
		var f materialsFile
		_, faults := strict.Decode("m.yaml", strings.NewReader("materials:\n  - "+in), &f)
		got := ""
		if err := faults.Err(); err != nil {
			got = err.Error()
		}
		for _, p := range CheckMaterials(f.Materials) {
			got += p.Message
		}
		assert.Contains(t, got, want, in)
	}
}

func TestClockTimeNext(t *testing.T) {
	ny, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	// The clocks go forward at 02:00 on 8 March 2026 (IANA time-zone database).
	evening := civil.New(2026, 3, 7).Slot(20, 0, ny)
	assert.Equal(t, "2026-03-08T07:00:00-04:00", ClockTime("07:00").Next(evening, ny).In(ny).Format(time.RFC3339))
	assert.Equal(t, "2026-03-07T21:00:00-05:00", ClockTime("21:00").Next(evening, ny).In(ny).Format(time.RFC3339))
	rapid.Check(t, func(t *rapid.T) {
		at := evening.Add(time.Duration(rapid.IntRange(0, 1e6).Draw(t, "minutes")) * time.Minute)
		next := ClockTime("07:00").Next(at, ny)
		if !next.After(at) || next.Sub(at) > 25*time.Hour {
			t.Fatalf("%s gave %s", at, next)
		}
	})
}
