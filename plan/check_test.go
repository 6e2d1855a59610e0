package plan

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/weather"
)

// typed is a material of which every label value was typed.
func typed(id, ingredient string, kind garden.MaterialKind) *garden.Material {
	three, four := 3, 4
	return &garden.Material{ID: id, Ingredient: ingredient, Kind: kind, Crops: []string{"tomato"}, IntervalDays: 7, SeasonMax: 3,
		PreHarvestDays: &three, ReEntryHours: &four, LabelDate: civil.New(2025, 1, 1)}
}

// use is a record on the tomatoes so many days before the check at noon.
func use(id string, m *garden.Material, daysBefore int) garden.Record {
	r := garden.Record{ID: id, Planting: "tom", Start: noon().AddDate(0, 0, -daysBefore)}
	r.Fill(checkSite, m)
	return r
}

var checkSite = &garden.Site{ID: "s", Latitude: 40.7, Longitude: -74, Zone: "America/New_York",
	Plots: []garden.Plot{{ID: "bed", Plantings: []garden.Planting{{ID: "tom", Crop: "tomato", PlantedOut: today.AddDays(-30)}, {ID: "old", Crop: "tomato", PlantedOut: today.AddDays(-400), Removed: today.AddDays(-300)}}}}}

func noon() time.Time { return today.Slot(12, 0, checkSite.Location()) }

func checkOf(t *testing.T, m *garden.Material, history ...garden.Record) TreatmentCheck {
	t.Helper()
	s, wet, _ := goodWeather(t, 9)
	r := &garden.Record{ID: "new", Planting: "tom", Start: noon(), Seen: garden.Seen{Bloom: garden.NoBloom}}
	r.Fill(checkSite, m)
	q := TreatmentCheck{Site: checkSite, Planting: &checkSite.Plots[0].Plantings[0], Record: r, Material: m, History: history, Series: s, Wet: wet}
	if m != nil {
		q.Own = append(q.Own, *m)
	}
	return q
}

func find(cs []Check, code string) *Check {
	if i := slices.IndexFunc(cs, func(c Check) bool { return c.Code == code }); i >= 0 {
		return &cs[i]
	}
	return nil
}

func TestNothingStandsAgainstAPlainUse(t *testing.T) {
	m := typed("c", "copper hydroxide", garden.KindCopper)
	assert.Empty(t, CheckTreatment(checkOf(t, m, use("a", m, 7))))
}

func TestChecksBeforeLogging(t *testing.T) {
	copper := typed("c", "copper hydroxide", garden.KindCopper)
	oil := typed("o", "horticultural oil", garden.KindOil)
	sulfur := typed("su", "sulfur", garden.KindSulfur)
	soap := typed("soap", "potassium salts of fatty acids", garden.KindSoap)
	deg := func(c float64) *garden.Degrees { d := garden.Degrees(c); return &d }
	for _, c := range []struct {
		name  string
		q     func() TreatmentCheck
		code  string
		level Level // empty: no such check
	}{
		// Interval and maximum: the grower's label.
		{"6 days after", func() TreatmentCheck { return checkOf(t, copper, use("a", copper, 6)) }, "too soon", Stop},
		{"7 days after", func() TreatmentCheck { return checkOf(t, copper, use("a", copper, 7)) }, "too soon", ""},
		{"logged late, 3 days before another", func() TreatmentCheck { return checkOf(t, copper, use("a", copper, -3)) }, "too soon", Stop},
		{"another product of the same ingredient", func() TreatmentCheck {
			return checkOf(t, copper, use("a", typed("c2", "copper octanoate", garden.KindCopper), 6))
		}, "too soon", Stop},
		{"another ingredient", func() TreatmentCheck { return checkOf(t, copper, use("a", soap, 2)) }, "too soon", ""},
		{"3 of 3 used", func() TreatmentCheck {
			return checkOf(t, copper, use("a", copper, 28), use("b", copper, 20), use("d", copper, 10))
		}, "too many", Stop},
		{"2 of 3 used", func() TreatmentCheck { return checkOf(t, copper, use("a", copper, 28), use("b", copper, 20)) }, "too many", ""},
		{"before this planting", func() TreatmentCheck {
			return checkOf(t, copper, use("a", copper, 200), use("b", copper, 190), use("d", copper, 10))
		}, "too many", ""},
		// UC IPM: two weeks either way, confirmed; many labels 30 days, second-hand.
		{"oil 13 days after sulfur", func() TreatmentCheck { return checkOf(t, oil, use("a", sulfur, 13)) }, "oil and sulfur", Stop},
		{"sulfur 13 days after oil", func() TreatmentCheck { return checkOf(t, sulfur, use("a", oil, 13)) }, "oil and sulfur", Stop},
		{"oil 14 days after sulfur", func() TreatmentCheck { return checkOf(t, oil, use("a", sulfur, 14)) }, "oil and sulfur", Warn},
		{"oil 30 days after sulfur", func() TreatmentCheck { return checkOf(t, oil, use("a", sulfur, 30)) }, "oil and sulfur", ""},
		{"label wants 21 days", func() TreatmentCheck {
			o := *oil
			o.ApartDays = 21
			return checkOf(t, &o, use("a", sulfur, 20))
		}, "oil and sulfur", Stop},
		{"neem oil typed without a kind", func() TreatmentCheck {
			return checkOf(t, typed("n", "clarified hydrophobic extract of neem oil", ""), use("a", sulfur, 5))
		}, "oil and sulfur", Stop},
		{"copper after oil", func() TreatmentCheck { return checkOf(t, copper, use("a", oil, 1)) }, "oil and sulfur", ""},
		// Heat: label, UC IPM.
		{"label to 15 C at 20 C", func() TreatmentCheck { m := *copper; m.MaxTemp = deg(15); return checkOf(t, &m) }, "heat", Stop},
		{"oil at 33 C", func() TreatmentCheck { return hotAt(t, checkOf(t, oil), 33) }, "heat", Stop},
		{"sulfur at 33 C", func() TreatmentCheck { return hotAt(t, checkOf(t, sulfur), 33) }, "heat", Stop},
		{"copper at 33 C", func() TreatmentCheck { return hotAt(t, checkOf(t, copper), 33) }, "heat", Warn},
		{"copper at 20 C", func() TreatmentCheck { return checkOf(t, copper) }, "heat", ""},
		{"seen 33 C, no weather", func() TreatmentCheck {
			q := checkOf(t, oil)
			q.Series, q.Record.Seen.Temp = nil, deg(33)
			return q
		}, "heat", Stop},
		{"no weather at all", func() TreatmentCheck { q := checkOf(t, oil); q.Series = nil; return q }, "temperature", Ask},
		{"wilted plants", func() TreatmentCheck { return checkOf(t, soap) }, "wilted", Ask},
		// Days before harvest: the grower's label.
		{"pick in 2 days, label 3", func() TreatmentCheck { q := checkOf(t, copper); q.HarvestOn = today + 2; return q }, "harvest", Stop},
		{"pick in 3 days, label 3", func() TreatmentCheck { q := checkOf(t, copper); q.HarvestOn = today + 3; return q }, "harvest", ""},
		{"pick in 2 days, label not said", func() TreatmentCheck {
			m := *copper
			m.PreHarvestDays = nil
			q := checkOf(t, &m)
			q.HarvestOn = today + 2
			return q
		}, "harvest", Ask},
		{"pick today, label 0", func() TreatmentCheck {
			zero, m := 0, *copper
			m.PreHarvestDays = &zero
			q := checkOf(t, &m)
			q.HarvestOn = today
			return q
		}, "harvest", ""},
		// Crops of the label.
		{"label for kale only", func() TreatmentCheck { m := *copper; m.Crops = []string{"kale"}; return checkOf(t, &m) }, "crop", Stop},
		{"label's crops not said", func() TreatmentCheck { m := *copper; m.Crops = nil; return checkOf(t, &m) }, "label", Ask},
		{"free text", func() TreatmentCheck { return checkOf(t, nil) }, "no material", Ask},
		// Mixes: the label; oil and sulfur, UC IPM; surfactants, Univ. Delaware.
		{"label forbids soap", func() TreatmentCheck {
			m := *copper
			m.DoNotMix = []string{"soap"}
			q := checkOf(t, &m)
			q.Mix = []garden.Material{*soap}
			return q
		}, "do not mix", Stop},
		{"the other label forbids it", func() TreatmentCheck {
			m := *soap
			m.DoNotMix = []string{"copper"}
			q := checkOf(t, copper)
			q.Mix = []garden.Material{m}
			return q
		}, "do not mix", Stop},
		{"oil with sulfur", func() TreatmentCheck { q := checkOf(t, oil); q.Mix = []garden.Material{*sulfur}; return q }, "do not mix", Stop},
		{"copper with soap", func() TreatmentCheck { q := checkOf(t, copper); q.Mix = []garden.Material{*soap}; return q }, "do not mix", Warn},
		{"two that nothing is known of", func() TreatmentCheck {
			q := checkOf(t, soap)
			q.Mix = []garden.Material{*typed("k", "kaolin", garden.KindFilm)}
			return q
		}, "mix", Ask},
		// Bees.
		{"open bloom", func() TreatmentCheck { q := checkOf(t, copper); q.Record.Seen.Bloom = garden.OpenBloom; return q }, "bees", Warn},
		{"open bloom against the label", func() TreatmentCheck {
			m := *copper
			m.Bees = garden.BeesNotBloom
			q := checkOf(t, &m)
			q.Record.Seen.Bloom = garden.OpenBloom
			return q
		}, "bees", Stop},
		{"bloom not said", func() TreatmentCheck { q := checkOf(t, copper); q.Record.Seen.Bloom = ""; return q }, "bloom", Ask},
	} {
		cs := CheckTreatment(c.q())
		got := find(cs, c.code)
		if c.level == "" {
			assert.Nil(t, got, c.name)
			continue
		}
		if assert.NotNil(t, got, "%s: %+v", c.name, cs) {
			assert.Equal(t, c.level, got.Level, c.name)
		}
		for i, x := range cs {
			assert.NotEqual(t, risk.Unstated, x.Source.Standing, c.name)
			assert.NotEmpty(t, x.Source.Text, c.name)
			if i > 0 {
				assert.LessOrEqual(t, levelRank(cs[i-1].Level), levelRank(x.Level), "the gravest first")
			}
		}
	}
}

func hotAt(t *testing.T, q TreatmentCheck, c float64) TreatmentCheck {
	t.Helper()
	o, err := q.Series.AddOrigin(weather.Origin{Source: "hot"})
	require.NoError(t, err)
	q.Series.Set(weather.Temp, q.Series.Index(q.Record.Start), c, o)
	return q
}

func TestSameGroupTwiceRunning(t *testing.T) {
	a, b := typed("a", "spinosad", garden.KindBiological), typed("b", "spinetoram", garden.KindBiological)
	a.Group, b.Group = "5", "5"
	c := typed("c", "insecticidal soap", garden.KindSoap)
	q := checkOf(t, a, use("1", a, 24), use("2", b, 12))
	q.Own = []garden.Material{*a, *b, *c}
	assert.Equal(t, Warn, find(CheckTreatment(q), "same group").Level)
	q = checkOf(t, a, use("1", a, 24), use("2", c, 12), use("3", a, 10))
	q.Own = []garden.Material{*a, *b, *c}
	assert.Nil(t, find(CheckTreatment(q), "same group"), "another group in between")
}

// A few leaves first and 48 hours: common practice.
func TestFirstUseOffersATest(t *testing.T) {
	m := typed("c", "copper hydroxide", garden.KindCopper)
	assert.Equal(t, Ask, find(CheckTreatment(checkOf(t, m)), "first use").Level)
	test := use("t", m, 1)
	test.Test = true
	got := find(CheckTreatment(checkOf(t, m, test)), "test waits")
	require.NotNil(t, got)
	assert.Equal(t, "The test of 9 Jun has not had its 48 hours: wait until 11 Jun 12:00.", got.Text)
	test = use("t", m, 2)
	test.Test = true
	assert.Equal(t, Ask, find(CheckTreatment(checkOf(t, m, test)), "test result").Level)
	assert.Nil(t, find(CheckTreatment(checkOf(t, m, test)), "too soon"), "a few leaves are no use of the planting")
	test.Result = garden.Better
	assert.Empty(t, CheckTreatment(checkOf(t, m, test)))
	test.Result = garden.Harmed
	assert.Equal(t, Stop, find(CheckTreatment(checkOf(t, m, test)), "harmed").Level)
	harmed := use("a", m, 20)
	harmed.Result = garden.Harmed
	assert.Equal(t, Stop, find(CheckTreatment(checkOf(t, m, use("0", m, 28), harmed, use("2", m, 10))), "harmed").Level)

	s := TestStep(m, noon(), checkSite.Location())
	assert.Equal(t, today+2, s.By)
	assert.Contains(t, s.Text, "Fri 12 Jun 12:00")
	assert.Contains(t, s.Text, "The label is the law")
}

func TestHomeMixesMayBeLoggedWithTheirEvidence(t *testing.T) {
	mix := &garden.Material{ID: "soda", Name: "baking soda", Kind: garden.KindHomeMix}
	cs := CheckTreatment(checkOf(t, mix, use("a", mix, 20)))
	for _, c := range cs {
		assert.NotEqual(t, Stop, c.Level, c.Text)
		assert.NotRegexp(t, rate, c.Text)
	}
	var texts string
	for _, c := range cs {
		texts += c.Text + "\n"
	}
	assert.Contains(t, texts, "no rate is given here")
	assert.Contains(t, texts, "[no effect] Cucumber in the field")
	assert.Contains(t, texts, "Its trials were on cucumber")
	assert.Contains(t, texts, "clogs the sprayer")
	assert.Nil(t, find(cs, "label"), "there is no label to read")

	mix.Crops = []string{"cucumber"}
	got := find(CheckTreatment(checkOf(t, mix)), "crop")
	require.NotNil(t, got)
	assert.Equal(t, "You keep baking soda for cucumber; tomato is not among them.", got.Text)
	assert.Equal(t, "No trial of it is known here.", find(CheckTreatment(checkOf(t, &garden.Material{ID: "x", Name: "nettle tea", Kind: garden.KindHomeMix})), "evidence").Text)
}

func TestReminders(t *testing.T) {
	night := &garden.Material{ID: "n", Name: "peel tea", Kind: garden.KindHomeMix, FollowUp: &garden.FollowUp{Text: "rinse the leaves", At: "07:00"}}
	later := typed("l", "copper", garden.KindCopper)
	later.FollowUp = &garden.FollowUp{Text: "rinse the sprayer", AfterHours: 2}
	test := use("t", later, 1)
	test.Test = true
	rs := Reminders([]garden.Record{use("a", night, 0), use("b", later, 0), test, use("old", later, 9)}, []garden.Material{*night, *later}, noon(), checkSite.Location())
	require.Len(t, rs, 3)
	assert.Equal(t, "Look at the leaves of the test spray and log how they are.", rs[0].Text)
	assert.Equal(t, noon().AddDate(0, 0, 1).UTC(), rs[0].At)
	assert.Equal(t, "After peel tea: rinse the leaves.", rs[1].Text)
	assert.Equal(t, "2026-06-11T07:00:00-04:00", rs[1].At.In(checkSite.Location()).Format(time.RFC3339), "next morning")
	assert.Equal(t, noon().Add(2*time.Hour).UTC(), rs[2].At)
}
