package plan

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/weather"
)

func TestBedClocksTakeTheLatestOfAll(t *testing.T) {
	long, short := typed("long", "mancozeb", garden.KindProtectant), typed("short", "copper", garden.KindCopper)
	five, forty := 5, 48
	long.PreHarvestDays, long.ReEntryHours = &five, &forty
	records := []garden.Record{use("a", long, 1), use("b", short, 0), use("old", long, 9)}
	cs := BedClocks(checkSite, records, noon().Add(time.Hour))
	require.Len(t, cs, 1)
	assert.Equal(t, today+4, cs[0].HarvestFrom, "5 days from the day before")
	assert.Equal(t, noon().AddDate(0, 0, 1).UTC(), cs[0].ReEntry.UTC(), "48 hours from the day before")
	assert.Empty(t, cs[0].Unsaid)
	assert.Equal(t, strings.TrimSpace(`
s, Wed 10 Jun 2026 13:00
bed, tomato
  Sprayed Wed 10 Jun 12:00 with copper.
  KEEP OUT until Thu 11 Jun 12:00.
  DO NOT PICK before Sun 14 Jun.
These dates are worked out from what the grower typed from the label. The label is the law.`),
		strings.Join(GateLines(checkSite, cs, noon().Add(time.Hour)), "\n"))
}

func TestLabelValuesThatWereNotTypedAreNotFree(t *testing.T) {
	bare := &garden.Material{ID: "b", Name: "blue bottle", Ingredient: "copper"}
	dry := &garden.Material{ID: "d", Name: "soap", Ingredient: "insecticidal soap", ReEntryDry: true}
	cs := BedClocks(checkSite, []garden.Record{use("a", bare, 3), use("b", dry, 0)}, noon().Add(time.Hour))
	require.Len(t, cs, 1)
	assert.Equal(t, []string{"blue bottle of 7 Jun: days before harvest and hours before re-entry not typed", "soap of 10 Jun: days before harvest not typed"}, cs[0].Unsaid)
	assert.True(t, cs[0].UntilDry)
	lines := strings.Join(cs[0].Lines(checkSite.Location()), "\n")
	assert.Contains(t, lines, "KEEP OUT until it is dry.")
	assert.Contains(t, lines, "ASK BEFORE YOU PICK OR ENTER: blue bottle")
	assert.Empty(t, BedClocks(checkSite, []garden.Record{use("a", bare, 31)}, noon()))
	assert.Empty(t, BedClocks(checkSite, []garden.Record{{ID: "w", Planting: "tom", Start: noon(), Method: "picked by hand"}}, noon().Add(time.Hour)), "no material, no clock")
	assert.Contains(t, strings.Join(GateLines(checkSite, nil, noon()), "\n"), "No clock runs")
}

// A clock never ends before that of any of its treatments.
func TestAnotherTreatmentNeverShortensAClock(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var rs []garden.Record
		var last civil.Date
		now := noon().Add(time.Minute)
		for i := range rapid.IntRange(1, 6).Draw(t, "n") {
			m := typed("m", "mancozeb", garden.KindProtectant)
			pre := rapid.IntRange(0, 20).Draw(t, "pre")
			m.PreHarvestDays = &pre
			r := use(string(rune('a'+i)), m, rapid.IntRange(0, 15).Draw(t, "ago"))
			last = max(last, r.HarvestFrom)
			rs = append(rs, r)
		}
		got := civil.Date(0)
		if cs := BedClocks(checkSite, rs, now); len(cs) > 0 {
			got = cs[0].HarvestFrom
		}
		if last > today && got != last || last <= today && !got.IsZero() {
			t.Fatalf("%s, want %s", got, last)
		}
	})
}

func TestFillWeatherOfTheHour(t *testing.T) {
	s, _, o := goodWeather(t, 1)
	i := s.Index(noon())
	s.Set(weather.RH, i, math.NaN(), o)
	five := garden.Speed(5)
	r := garden.Record{Start: noon().Add(40 * time.Minute), Seen: garden.Seen{Wind: &five}}
	FillWeather(&r, s, 4)
	require.NotNil(t, r.Weather)
	assert.Equal(t, 20.0, *r.Weather.Temp)
	assert.Nil(t, r.Weather.RH)
	assert.Nil(t, r.Weather.DeltaT, "not known without humidity")
	assert.Equal(t, "x (forecast)", r.Weather.Source)
	assert.Equal(t, five, *r.Seen.Wind, "what the person saw stays")
	// 20 C and 60 %: wet bulb 15.2 C at sea level, by Stull 2011's formula 15.09.
	s.Set(weather.RH, i, 60, o)
	FillWeather(&r, s, 4)
	assert.InDelta(t, 4.9, *r.Weather.DeltaT, 0.3)
	r.Start = noon().AddDate(0, 1, 0)
	FillWeather(&r, s, 4)
	assert.Nil(t, r.Weather)
}
