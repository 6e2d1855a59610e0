package web

import (
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/planting"
	"plotwarden/web/webtest"
)

// frosty is ten past seasons whose last frost of spring fell between 1 and 19 May,
// and whose first of autumn fell on 10 October.
func frosty(string) (spring, autumn planting.Chances) {
	var ss []planting.Season
	for i := range 10 {
		ss = append(ss, planting.Season{Start: civil.New(2015+i, 1, 1), LastSpring: civil.New(2015+i, 5, 1+2*i), FirstAutumn: civil.New(2015+i, 10, 10), Spring: true, Autumn: true})
	}
	return planting.FrostChances(ss, planting.LastOfSpring, 40), planting.FrostChances(ss, planting.FirstOfAutumn, 40)
}

// Each hour's "no" has its reason and each reason its source; each of the grower's
// materials has hours of its own, or why it is not for this crop.
func TestHoursForEachMaterial(t *testing.T) {
	d, _ := deps(false)
	hot := garden.Degrees(18)
	d.Garden().Materials = []garden.Material{
		{ID: "su", Name: "sulfur from the shed", Ingredient: "sulfur", Kind: garden.KindSulfur, Crops: []string{"tomato"}, MaxTemp: &hot, DryingHours: 1},
		{ID: "cab", Name: "for cabbage only", Ingredient: "Bacillus thuringiensis", Crops: []string{"cabbage"}},
	}
	d.Garden().Sites[0].PeopleHours = []garden.PeopleHours{{From: "09:00", To: "17:00", Why: "open day"}}
	h := New(d)
	body := get(t, h, "/site/mill-lane/work?planting=tomato-1&material=su&bloom=open").Body.String()
	for _, want := range []string{
		"hour by hour", "people are about: open day", "flowers are open and bees at work", "your own setting", "Hungarian food-safety office",
		"its label, as typed, does not name this crop", "your label, as you typed it", "The label is the law",
	} {
		assert.Contains(t, body, want)
	}
	assert.Contains(t, body, "No hour of the next 48 fits for spraying", "the cultural step instead")
	assert.Contains(t, body, "Do this instead: Take off the lowest leaves", "from what the round would have done in this bed")
}

func TestPlanOfAPlanting(t *testing.T) {
	d, data := deps(false)
	data.Done = workDone()
	h := New(d)
	w := get(t, h, "/site/mill-lane/planting/tomato-1")
	require.Equal(t, http.StatusOK, w.Code)
	body := w.Body.String()
	for _, want := range []string{"Late blight", "Early blight", "Tomato hornworm", "Prevention: from", "Published numbers to act at", "The label is the law", "Source:"} {
		assert.Contains(t, body, want)
	}
	assert.Less(t, strings.Index(body, ">Late blight"), strings.Index(body, ">Tomato hornworm"), "what presses comes first")
	assert.Contains(t, body, "/site/mill-lane/log?planting=tomato-1&amp;threat=late-blight")
	assert.Equal(t, http.StatusNotFound, get(t, h, "/site/mill-lane/planting/nothing").Code)
	why := get(t, h, "/site/mill-lane/planting/tomato-1/threat/late-blight").Body.String()
	assert.Contains(t, why, "/site/mill-lane/log?planting=tomato-1&amp;threat=late-blight", "the lead line's page leads to the log")
}

func TestYear(t *testing.T) {
	d, data := deps(false)
	d.Frosts = frosty
	site := &d.Garden().Sites[0]
	site.Plots[0].Plantings = append(site.Plots[0].Plantings, garden.Planting{ID: "pot", Crop: "potato", Sown: civil.New(2025, 4, 1), Removed: civil.New(2025, 8, 1)})
	site.Plots[5].Plantings[0].Sown, site.Plots[5].Plantings[0].PlantedOut = webtest.Today-10, 0
	site.Plots[5].Plantings[0].MaturityDays = 55
	site.Watering = []garden.Watering{{Mm: 2}}
	mm := 12.0
	data.Full = []garden.Record{{ID: "water-1", Site: "mill-lane", Planting: "tomato-1", Start: (webtest.Today - 2).Slot(7, 0, webtest.Loc()), Water: &mm, WaterUnit: "mm", Method: "watered"}}
	body := get(t, New(d), "/site/mill-lane/work/year").Body.String()
	for _, want := range []string{
		"From 10 past seasons at this ground", "0 of 10", // no spring frost came after 10 June
		"Solanaceae: again from 2030", "Tomato stands where potato stood", "UConn IPM rotation table",
		"again around Sun 14 Jun; last safe sowing", "Sun 2 Aug", "mid-Atlantic extension", // 10 October less 55 days and two weeks
		">24.0 mm<", // 12 logged and 6 days of 2
		"about 25 mm (1 in.) a week",
	} {
		assert.Contains(t, body, want)
	}
	d2, _ := deps(false)
	assert.Contains(t, get(t, New(d2), "/site/mill-lane/work/year").Body.String(), "no chance of frost can be given", "unknown is said")
}

// The CSV has every field and every correction; the season's report counts what
// stands.
func TestRecordsWithAllTheirFields(t *testing.T) {
	d, data := deps(false)
	d.Garden().Treatments = nil
	data.Done = nil
	at := (webtest.Today - 3).Slot(19, 0, webtest.Loc())
	three := 3
	data.Full = []garden.Record{
		{ID: "r1", Site: "mill-lane", Planting: "tomato-1", Start: at, Product: "copper", Label: garden.LabelValues{PreHarvestDays: &three}},
		{ID: "r2", Site: "mill-lane", Planting: "tomato-1", Start: at, Product: "copper", Replaces: "r1", Why: "the jug", Entered: at, Against: []string{"wind"}, Despite: "a lull"},
	}
	body := get(t, New(d), "/site/mill-lane/record.csv").Body.String()
	assert.Equal(t, 3, strings.Count(body, "\n"), "a heading, the first entry and its correction")
	assert.Contains(t, body, "a lull")
	assert.Contains(t, get(t, New(d), "/site/mill-lane/season").Body.String(), "Sprays: 1;")
	assert.Equal(t, 1, strings.Count(get(t, New(d), "/site/mill-lane/work").Body.String(), "<strong>copper</strong>"))
}
