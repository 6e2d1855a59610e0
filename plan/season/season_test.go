package season

import (
	"math"
	"strings"
	"testing"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/risk/planting"
	"plotwarden/weather"
)

var may12 = civil.New(2026, 5, 12)

func site(ps ...garden.Planting) *garden.Site {
	return &garden.Site{ID: "s", Latitude: 40.7, Longitude: -74, Zone: "America/New_York", Plots: []garden.Plot{{ID: "bed", Name: "Bed 2", Plantings: ps}}}
}

func spell(from civil.Date, n int, low, high, soil, rain float64) []weather.Day {
	var out []weather.Day
	for i := range n {
		d := weather.NewDay(from.AddDays(i))
		d.Min, d.Max, d.Soil, d.Rain, d.Kind = low, high, soil, rain, weather.Analysis
		out = append(out, d)
	}
	return out
}

// 2 C on the record hurts tender plants on a clear night: common practice.
// Killing frost at 28 F, -2.2 C: from memory.
func TestFrostNights(t *testing.T) {
	s := site(garden.Planting{ID: "tom", Crop: "tomato", PlantedOut: may12 - 3}, garden.Planting{ID: "pea", Crop: "pea", Sown: may12 - 40},
		garden.Planting{ID: "apple", Crop: "apple", PlantedOut: may12 - 900}, garden.Planting{ID: "later", Crop: "cucumber", PlantedOut: may12 + 20})
	for _, c := range []struct {
		min           float64
		tender, hardy []string
	}{
		{2.1, nil, nil}, {2, []string{"tom"}, nil}, {-1, []string{"tom"}, nil}, {-2.2, []string{"tom"}, []string{"pea"}}, {math.NaN(), nil, nil},
	} {
		ns := FrostNights(s, spell(may12+1, 1, c.min, 15, 12, 0), may12)
		if c.tender == nil {
			assert.Empty(t, ns, "%g", c.min)
			continue
		}
		require.Len(t, ns, 1)
		assert.Equal(t, c.tender, ns[0].Tender)
		assert.Equal(t, c.hardy, ns[0].Hardy)
	}
	assert.Empty(t, FrostNights(s, spell(may12-5, 3, -5, 3, 1, 0), may12), "nights that have passed")
	ts := FrostTasks(s, FrostNights(s, spell(may12+1, 1, -1, 15, 12, 0), may12))
	assert.Equal(t, may12, ts[0].By, "the evening before")
	assert.Contains(t, ts[0].Text, "Night to Wed 13 May -1 C (frost). Before dusk cover Bed 2 (tomato): down")
}

// Figures and their sources: risk/planting. Tomato: soil 55 F (Kansas State) and
// 60 F (Georgia), nights 50 F (from memory) and 60 F (common practice), days 80 F.
func TestSetOut(t *testing.T) {
	none := planting.Chances{}
	check := func(days []weather.Day, chances planting.Chances) SetOut {
		s, err := CheckSetOut("tomato", planting.PlantOut, true, days, may12, chances)
		require.NoError(t, err)
		return s
	}
	cold := check(spell(may12-9, 10, 6, 15, 11, 0), none)
	assert.Equal(t, NotYet, cold.Go)
	assert.Contains(t, cold.Text, "The soil temperature is 11 C; it wants 13 C.")
	assert.Equal(t, plan.Wait, cold.Task("bed", "tom").Kind)
	warm := check(spell(may12-9, 10, 17, 28, 20, 0), none)
	assert.Equal(t, Ready, warm.Go)
	assert.Equal(t, plan.PlantOut, warm.Task("bed", "tom").Kind)
	between := check(spell(may12-9, 10, 13, 28, 17, 0), none)
	assert.Equal(t, Disagree, between.Go, "50 F nights are reached, 60 F nights are not")
	frosty := append(spell(may12-9, 10, 17, 28, 20, 0), spell(may12+1, 4, 17, 28, 20, 0)...)
	frosty[12].Min = 1.5
	cut := check(frosty, none)
	assert.Equal(t, NotYet, cut.Go)
	assert.Contains(t, cut.Text, "A night of 2 C or less is forecast, to Fri 15 May.")
	assert.Equal(t, Unknown, check(nil, none).Go)
	_, err := CheckSetOut("tomat", planting.PlantOut, true, nil, may12, none)
	assert.ErrorContains(t, err, `did you mean "tomato"`)
}

func TestSetOutSaysThePastFrosts(t *testing.T) {
	var past []weather.Day
	for y := 2014; y < 2026; y++ {
		year := spell(civil.New(y, 1, 1), 365, 5, 15, 10, 0)
		if y%3 == 0 { // 2016, 2019, 2022, 2025: a frost on 20 May
			year[139].Min = -1
		}
		past = append(past, year...)
	}
	c := planting.FrostChances(planting.Seasons(past, planting.Frost, 40), planting.LastOfSpring, 40)
	s, err := CheckSetOut("tomato", planting.PlantOut, true, spell(may12-9, 10, 17, 28, 20, 0), may12, c)
	require.NoError(t, err)
	assert.Equal(t, 12, s.Seasons)
	assert.InDelta(t, 4.0/12, s.FrostRisk, 1e-9)
	assert.Contains(t, s.Text, "In 4 of 12 past seasons a frost came after this date.")
}

// Last sowing: first frost less maturity less 1-2 weeks. Successions: corn and
// beans 2 weeks, cucumber and squash 3, carrots 4 (mid-Atlantic, confirmed).
func TestSowing(t *testing.T) {
	frost := civil.New(2026, 10, 20)
	safe, last, _ := LastSowing(frost, 60)
	assert.Equal(t, [2]civil.Date{civil.New(2026, 8, 7), civil.New(2026, 8, 14)}, [2]civil.Date{safe, last})
	safe, _, _ = LastSowing(frost, 0)
	assert.True(t, safe.IsZero(), "days to maturity are the seed packet's")
	for crop, want := range map[string]int{"snap bean": 14, "sweet corn": 14, "zucchini": 21, "carrot": 28, "tomato": 0} {
		n, _, ok := SuccessionDays(crop)
		assert.Equal(t, want, n, crop)
		assert.Equal(t, want > 0, ok, crop)
	}
	assert.Equal(t, []civil.Date{may12 + 14, may12 + 28, may12 + 42}, NextSowings("snap bean", may12, may12+45))
	assert.Equal(t, []civil.Date{may12 + 28}, NextSowings("carrot", may12, 0))
	assert.Empty(t, NextSowings("tomato", may12, 0))
}

// Years: UConn IPM rotation table (garden.RotationOf), confirmed.
func TestRotationClashes(t *testing.T) {
	d := civil.New
	plot := &garden.Plot{ID: "bed", Plantings: []garden.Planting{
		{ID: "pot", Crop: "potato", PlantedOut: d(2023, 4, 20), Removed: d(2023, 9, 1)},
		{ID: "kale", Crop: "kale", PlantedOut: d(2024, 4, 1), Removed: d(2025, 2, 1)},
		{ID: "tom", Crop: "tomato", PlantedOut: d(2026, 5, 10)},
		{ID: "radish", Crop: "radish", Sown: d(2026, 3, 10), Removed: d(2026, 5, 1)},
		{ID: "turnip", Crop: "turnip", Sown: d(2026, 8, 1)},
		{ID: "bean", Crop: "snap bean", Sown: d(2026, 6, 1)},
	}}
	cs := Clashes(plot, d(2026, 5, 20))
	require.Len(t, cs, 2)
	assert.Equal(t, "tom", cs[0].Planting)
	assert.Equal(t, []any{"potato", 3, 2027}, []any{cs[0].Before, cs[0].Years, cs[0].FreeFrom}, "nightshades: 3 to 4 years")
	assert.Equal(t, []any{"turnip", "radish", true}, []any{cs[1].Planting, cs[1].Before, cs[1].Same})
	task := cs[0].Task()
	assert.Contains(t, task.Text, "Tomato stands where potato stood until 1 Sep 2023. Keep the family off this bed for 3 to 4 years (free again in 2027); longer after Verticillium wilt 4 years.")
	assert.Contains(t, task.Text, garden.RotationNote)
	assert.Equal(t, risk.Confirmed, task.Source.Standing)
	assert.Contains(t, cs[1].Task().Text, "within one season")

	plot.Plantings[0].Removed = d(2022, 9, 1)
	plot.Plantings[0].PlantedOut = d(2022, 4, 20)
	assert.Len(t, Clashes(plot, d(2026, 5, 20)), 1, "four years on")
	year, ok := FreeFrom(plot, "Brassicaceae", d(2026, 6, 1))
	assert.True(t, ok)
	assert.Equal(t, 2029, year)
	_, ok = FreeFrom(plot, "Apiaceae", d(2026, 6, 1))
	assert.False(t, ok)
}

// About 25 mm a week: common practice. 1 in. on 100 square feet is 62 gallons,
// 25 litres on a square metre (confirmed): 25 mm is 25 litres on a square metre.
func TestWaterLedger(t *testing.T) {
	s := site(garden.Planting{ID: "tom", Crop: "tomato", PlantedOut: may12 - 30})
	days := append(spell(may12-9, 9, 10, 20, 15, 1), spell(may12, 5, 10, 20, 15, 2)...)
	l := Water(s, days, []Watering{{"tom", may12 - 2, 6}, {"tom", may12 - 8, 9}, {"other", may12 - 2, 9}}, may12)[0]
	assert.Equal(t, []float64{7, 6, 25, 12, 6}, []float64{l.Rain, l.Given, l.Want, l.Short, l.Coming})
	assert.Equal(t, "Last 7 days: 7 mm of rain and 6 mm given, of about 25 mm. 12 mm short: 12 litres on each square metre, at the base, in the morning. 6 mm of rain is forecast within 3 days.", l.Text)
	task, ok := l.Task(may12)
	assert.True(t, ok)
	assert.Equal(t, plan.WaterBed, task.Kind)

	days[5].Rain = math.NaN()
	l = Water(s, days, nil, may12)[0]
	assert.Equal(t, 1, l.UnknownDays)
	assert.Contains(t, l.Text, "Rain is not known for 1 day: feel the soil")

	s.Plots[0].Plantings[0].Cover = garden.Tunnel
	l = Water(s, days, nil, may12)[0]
	assert.Equal(t, []float64{0, 25, 0}, []float64{l.Rain, l.Short, l.Coming})
	assert.Contains(t, l.Text, "no rain under the tunnel")

	wet := Water(site(garden.Planting{ID: "x", Crop: "pea", Sown: may12 - 30}), spell(may12-9, 9, 10, 20, 15, 6), nil, may12)[0]
	assert.Contains(t, wet.Text, "Enough.")
	_, ok = wet.Task(may12)
	assert.False(t, ok)
	young := Water(site(garden.Planting{ID: "x", Crop: "pea", Sown: may12 - 2}), spell(may12-9, 9, 10, 20, 15, 0), nil, may12)[0]
	assert.InDelta(t, 25.0*2/7, young.Want, 1e-9)
}

func TestMoreWaterIsNeverShorter(t *testing.T) {
	s := site(garden.Planting{ID: "tom", Crop: "tomato", PlantedOut: may12 - 30})
	rapid.Check(t, func(t *rapid.T) {
		days := spell(may12-8, 8, 10, 20, 15, 0)
		for i := range days {
			days[i].Rain = rapid.Float64Range(0, 20).Draw(t, "rain")
		}
		given := []Watering{{"tom", may12 - 1, rapid.Float64Range(0, 30).Draw(t, "given")}}
		a := Water(s, days, given, may12)[0]
		given[0].Mm += 3
		b := Water(s, days, given, may12)[0]
		if b.Short > a.Short || a.Short < 0 || math.Abs(a.Rain+a.Given+a.Short-a.Want) > 1e-9 && a.Short > 0 {
			t.Fatalf("%+v then %+v", a, b)
		}
	})
}

func TestCleanUpAfterWhatWasFound(t *testing.T) {
	cat, err := catalog.Load()
	require.NoError(t, err)
	s := site(garden.Planting{ID: "tom", Crop: "tomato", PlantedOut: may12, Removed: civil.New(2026, 9, 20)}, garden.Planting{ID: "pep", Crop: "pepper", PlantedOut: may12})
	seen := []garden.Scouting{{Planting: "tom", Threat: "tomato-early-blight", Finding: garden.Found}, {Planting: "tom", Threat: "late-blight", Finding: garden.None}}
	today := civil.New(2026, 9, 25)
	ts := CleanUps(s, seen, cat, 0, today)
	require.Len(t, ts, 4)
	assert.Contains(t, ts[0].Text, "After early blight of tomato: ")
	assert.Contains(t, ts[1].Text, "After early blight of tomato: Take all vines out")
	assert.Contains(t, ts[2].Text, "into a bag and the bin")
	assert.Equal(t, civil.New(2026, 9, 27), ts[2].By)
	assert.Contains(t, ts[3].Text, "Nothing of the family of tomato in this bed before 2030.")
	ts = CleanUps(s, nil, cat, civil.New(2026, 9, 24), today)
	assert.Contains(t, ts[len(ts)-2].Text, "Clear the pepper", "a killing frost ended it")
	assert.Empty(t, CleanUps(s, nil, cat, 0, today.AddDays(30)))
}

func TestWorkBringsItTogether(t *testing.T) {
	cat, err := catalog.Load()
	require.NoError(t, err)
	s := site(
		garden.Planting{ID: "tom", Crop: "tomato", PlantedOut: may12 - 3},
		garden.Planting{ID: "cuc", Crop: "cucumber", PlantedOut: may12 + 6},
		garden.Planting{ID: "bean", Crop: "snap bean", Sown: may12 - 11},
		garden.Planting{ID: "pot", Crop: "potato", PlantedOut: may12 - 740, Removed: may12 - 600},
	)
	days := append(spell(may12-20, 21, 6, 16, 12, 0), spell(may12+1, 3, 0.5, 14, 12, 0)...)
	ts, err := Work(Input{Site: s, Today: may12, Days: days, Threats: cat})
	require.NoError(t, err)
	var kinds []string
	for _, x := range ts {
		kinds = append(kinds, string(x.Kind))
		assert.NotEmpty(t, x.Source.Text, x.Text)
		assert.NotEqual(t, risk.Unstated, x.Source.Standing, x.Text)
	}
	assert.Equal(t, "frost,sow,wait,water,water,rotate", strings.Join(kinds, ","))
	_, err = Work(Input{Site: s, Today: may12})
	assert.NoError(t, err, "nothing known is no fault")
}
