package plan_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/plan/season"
	"plotwarden/risk/planting"
)

func d(m time.Month, n int) civil.Date { return civil.New(2026, m, n) }

var fair = sky{low: 14, high: 25, dew: 10, wind: 3, nightWind: 1.6, cloud: 40}

// A wet fortnight in July: rain day after day, leaves wet for most of it.
func TestScenarioWetFortnightInJuly(t *testing.T) {
	g := newGround(t, d(5, 1), d(7, 15), d(7, 24), func(x civil.Date) sky {
		if x >= d(7, 8) && x <= d(7, 21) {
			return sky{low: 15, high: 20, dew: 15.5, rainFrom: 4, rainN: 9, again: 17, rain: 0.8, wind: 4, nightWind: 3, cloud: 95}
		}
		return fair
	}, garden.Plot{ID: "pump", Name: "Bed 2", Plantings: []garden.Planting{{ID: "tom", Crop: "tomato", PlantedOut: d(5, 20), Mulch: garden.NoMulch}}})
	three, four := 1, 4
	g.own = []garden.Material{{ID: "cu", Name: "copper from the shed", Ingredient: "copper octanoate", Kind: garden.KindCopper, Crops: []string{"tomato"},
		IntervalDays: 7, SeasonMax: 5, PreHarvestDays: &three, ReEntryHours: &four, LabelDate: d(1, 5), DryingHours: 6}}
	g.done = []garden.Treatment{{ID: "t1", Planting: "tom", Threats: []string{"late-blight"}, At: d(7, 7).Slot(18, 0, g.zone), Material: "cu", Ingredient: "copper octanoate", IntervalDays: 7}}
	g.seen = []garden.Scouting{{Planting: "tom", Threat: "late-blight", Date: d(7, 11), Finding: garden.None, Plants: 10}}
	g.say("A wet fortnight in July. Wednesday 15 July, 06:00.")

	late, _ := g.tell("tom", "late-blight")
	assert.Equal(t, plan.Act, late.Readiness)
	require.NotNil(t, late.Protection)
	assert.Equal(t, plan.Renew, late.Protection.State, "more than 50 mm since")
	early, w := g.tell("tom", "tomato-early-blight")
	assert.Contains(t, []plan.Readiness{plan.Act, plan.Approaching}, early.Readiness)
	week := g.sprayWeek("tom", &g.own[0], garden.NoBloom, w.Steps)
	require.NotNil(t, week.Instead, "no hour fits in 48: the cultural step")
	assert.Contains(t, week.Instead.Text, "rain")
	g.golden("wet-fortnight.txt")
}

// A heat wave: 33 C by day, still clear evenings, squash in flower.
func TestScenarioHeatWave(t *testing.T) {
	g := newGround(t, d(6, 1), d(7, 20), d(7, 30), func(x civil.Date) sky {
		if x >= d(7, 18) {
			return sky{low: 16, high: 33, dew: 15, wind: 2.5, nightWind: 0.6, cloud: 5}
		}
		return fair
	}, garden.Plot{ID: "hedge", Name: "Bed 3", Plantings: []garden.Planting{{ID: "zuc", Crop: "zucchini", Sown: d(5, 25), Mulch: garden.Straw}}})
	zero, day := 0, 24
	g.own = []garden.Material{
		{ID: "su", Name: "sulfur from the shed", Ingredient: "sulfur", Kind: garden.KindSulfur, Crops: []string{"zucchini"}, IntervalDays: 10, SeasonMax: 4, PreHarvestDays: &zero, ReEntryHours: &day, LabelDate: d(1, 5)},
		{ID: "soda", Name: "soda mix", Ingredient: "baking soda", Kind: garden.KindHomeMix, Crops: []string{"cucumber"}},
	}
	count := 4
	g.seen = []garden.Scouting{{Planting: "zuc", Threat: "cucurbit-powdery-mildew", Date: d(7, 19), Finding: garden.Found, Stage: "first white spots on old leaves", Plants: 10, Count: &count}}
	g.say("A heat wave. Monday 20 July, 06:00.")
	a, w := g.tell("zuc", "cucurbit-powdery-mildew")
	assert.Equal(t, plan.Present, a.Readiness)
	week := g.sprayWeek("zuc", &g.own[0], garden.OpenBloom, w.Steps)
	require.NotNil(t, week.Instead)
	assert.NotEmpty(t, week.Conflicts, "the hour before sunset is still and clear")

	history := []garden.Record{{ID: "oil", Planting: "zuc", Start: d(7, 10).Slot(19, 0, g.zone), Product: "neem oil", Ingredient: "neem oil"}}
	history[0].Fill(g.site, nil)
	for _, c := range []struct {
		m  *garden.Material
		at time.Time
	}{{&g.own[0], d(7, 20).Slot(14, 0, g.zone)}, {&g.own[1], d(7, 20).Slot(20, 0, g.zone)}} {
		r := garden.Record{ID: "new", Planting: "zuc", Start: c.at, Seen: garden.Seen{Bloom: garden.OpenBloom}}
		r.Fill(g.site, c.m)
		_, p := g.site.Find("zuc")
		g.say("", "Before logging "+c.m.Label()+" on "+c.at.In(g.zone).Format("Mon 2 Jan 15:04"))
		cs := plan.CheckTreatment(plan.TreatmentCheck{Site: g.site, Planting: p, Record: &r, Material: c.m, History: history, Own: g.own, HarvestOn: d(7, 21), Series: g.hours, Wet: g.wet})
		for _, x := range cs {
			g.say(strings.ToUpper(string(x.Level)) + " " + x.Text)
		}
		assert.Equal(t, plan.Stop, cs[0].Level)
	}
	g.golden("heat-wave.txt")
}

// A late frost after planting out.
func TestScenarioLateFrost(t *testing.T) {
	g := newGround(t, d(4, 20), d(5, 12), d(5, 20), func(x civil.Date) sky {
		switch {
		case x == d(5, 14):
			return sky{low: -1, high: 14, dew: -2, wind: 2, nightWind: 0.5, cloud: 0}
		case x == d(5, 15):
			return sky{low: 1.5, high: 15, dew: 0, wind: 2, nightWind: 0.5, cloud: 10}
		}
		return sky{low: 6, high: 17, dew: 4, wind: 3, nightWind: 2, cloud: 40}
	}, garden.Plot{ID: "pump", Name: "Bed 2", Plantings: []garden.Planting{
		{ID: "tom", Crop: "tomato", PlantedOut: d(5, 9)},
		{ID: "pot", Crop: "potato", PlantedOut: civil.New(2024, 4, 20), Removed: civil.New(2024, 9, 1)},
	}}, garden.Plot{ID: "gate", Name: "Bed 1", Plantings: []garden.Planting{{ID: "cuc", Crop: "cucumber", PlantedOut: d(5, 18)}, {ID: "pea", Crop: "pea", Sown: d(4, 1)}}})
	g.say("A late frost. Tuesday 12 May, 06:00.", "", "Season")
	tasks, err := season.Work(season.Input{Site: g.site, Today: g.today, Days: g.hours.Days(g.zone), Spring: planting.Chances{}, Threats: g.cat})
	require.NoError(t, err)
	require.NotEmpty(t, tasks)
	assert.Equal(t, plan.Frost, tasks[0].Kind)
	assert.Equal(t, d(5, 13), tasks[0].By)
	for _, x := range tasks {
		g.say("- " + x.Line(g.site, g.today))
	}
	_, w := g.tell("tom", "tomato-early-blight")
	for _, s := range w.Steps {
		if s.Kind == plan.MulchBed {
			assert.Contains(t, s.When, "once the soil is warm: it is", "no straw on cold soil")
		}
	}
	g.golden("late-frost.txt")
}

// A grower who missed two weeks: nothing done, nothing looked at.
func TestScenarioTwoWeeksMissed(t *testing.T) {
	g := newGround(t, d(3, 1), d(5, 20), d(6, 2), func(x civil.Date) sky {
		s := sky{low: 2, high: 12, dew: 1, wind: 3, nightWind: 2, cloud: 50}
		if x >= d(4, 15) {
			s.low, s.high, s.dew = 6, 18, 5
		}
		return s
	}, garden.Plot{ID: "long", Name: "Bed 4", Plantings: []garden.Planting{
		{ID: "cab", Crop: "cabbage", PlantedOut: d(4, 22)},
		{ID: "old", Crop: "kale", PlantedOut: civil.New(2025, 4, 20), Removed: civil.New(2025, 11, 2)},
	}})
	g.own = []garden.Material{{ID: "bt", Name: "caterpillar spray", Ingredient: "Bacillus thuringiensis kurstaki", Kind: garden.KindBiological, Crops: []string{"cabbage", "kale"}}}
	g.done = []garden.Treatment{{ID: "t1", Planting: "cab", At: d(5, 5).Slot(19, 0, g.zone), Material: "bt", Ingredient: "Bacillus thuringiensis kurstaki"}}
	g.seen = []garden.Scouting{{Planting: "cab", Threat: "imported-cabbageworm", Date: d(5, 4), Finding: garden.None, Plants: 10}}
	g.say("A grower who missed two weeks. Wednesday 20 May, 06:00.")
	a, w := g.tell("cab", "imported-cabbageworm")
	assert.Equal(t, plan.Act, a.Readiness)
	assert.NotEmpty(t, w.Missed)
	require.NotNil(t, a.Protection)
	assert.Equal(t, plan.Gone, a.Protection.State)
	g.sprayWeek("cab", &g.own[0], garden.NoBloom, w.Steps)
	g.golden("two-weeks-missed.txt")
}
