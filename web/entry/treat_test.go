package entry

import (
	"encoding/json"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/web/webtest"
)

func firstBed(t *testing.T, g *ground) string {
	t.Helper()
	var x struct{ Beds []struct{ Value string } }
	require.NoError(t, json.Unmarshal(g.get("/site/mill-lane/log/choices").Body.Bytes(), &x))
	require.NotEmpty(t, x.Beds)
	return x.Beds[0].Value
}

// told is spray after the page with the checks was seen.
func toldSpray(id string, more ...string) []string {
	return append([]string{"told", "yes", "despite", "it was done before I looked"}, more...)
}

func TestATreatmentIsCheckedBeforeItIsSaved(t *testing.T) {
	g := newGround(t)
	w := g.send("/site/mill-lane/log/treatment", spray("11111111-a"))
	require.Equal(t, http.StatusOK, w.Code)
	body := squeezed(w)
	assert.Contains(t, body, "First use of it on this crop")
	assert.Contains(t, body, "The label is the law")
	assert.Contains(t, body, "Look at them on Fri 12 Jun 08:30", "a test is offered, with the day of its look")
	assert.Empty(t, g.records(), "nothing is saved before it was seen")
	test := spray("99999999-a", "told", "yes", "test", "yes")
	test.Del("act")
	require.Equal(t, http.StatusSeeOther, g.send("/site/mill-lane/log/treatment", test).Code)
	require.True(t, g.records()[0].Test)
	assert.Contains(t, squeezed(g.send("/site/mill-lane/log/treatment", spray("11111111-a", "clock", "08:40"))), "has not had its 48 hours")
	require.Equal(t, http.StatusSeeOther, g.send("/site/mill-lane/log/entry/99999999-a/undo", nil).Code)

	w = g.send("/site/mill-lane/log/treatment", spray("11111111-a", toldSpray("")...))
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	r := garden.Current(g.records())[0]
	assert.Equal(t, "copper octanoate", r.Ingredient)
	assert.Equal(t, 3, *r.Label.PreHarvestDays, "the label values as the grower typed them")
	assert.Equal(t, webtest.Today+3, r.HarvestFrom)
	require.NotNil(t, r.Weather, "the weather of the hour came by itself")
	assert.NotNil(t, r.Weather.Temp)
	assert.Contains(t, r.Weather.Source, "open-meteo")
	assert.Equal(t, "tomato", r.Crop)
	done, err := g.store.Treatments(t.Context(), north)
	require.NoError(t, err)
	require.Len(t, done, 1, "the models see it")
	assert.Equal(t, 7, done[0].IntervalDays)
	gate := squeezed(g.get("/site/mill-lane/gate"))
	assert.Contains(t, gate, "KEEP OUT until Thu 11 Jun 08:30")
	assert.Contains(t, gate, "DO NOT PICK before Sat 13 Jun")
}

// Each check that the plan makes reaches the page, from the grower's own label.
func TestWhatStandsAgainstIt(t *testing.T) {
	g := newGround(t)
	for i, day := range []int{-24, -17, -10} {
		x := garden.Record{ID: string(rune('a'+i)) + "-earlier", Planting: "tomato-1", Start: (webtest.Today + civil.Date(day)).Slot(19, 0, webtest.Loc())}
		x.Fill(&g.garden.Sites[0], &g.garden.Materials[0])
		require.NoError(t, g.store.AddRecord(t.Context(), x))
	}
	near := garden.Record{ID: "near-one", Planting: "tomato-1", Start: (webtest.Today - 3).Slot(19, 0, webtest.Loc())}
	near.Fill(&g.garden.Sites[0], &g.garden.Materials[0])
	require.NoError(t, g.store.AddRecord(t.Context(), near))
	body := squeezed(g.send("/site/mill-lane/log/treatment", spray("11111111-b", "pick", (webtest.Today+1).String())))
	for _, want := range []string{"3 days between this use and that of 7 Jun; the label wants 7", "the label allows 3 in a season", "You mean to pick on 11 Jun", "do not do it"} {
		assert.Contains(t, body, want)
	}
	body = squeezed(g.send("/site/mill-lane/log/treatment", spray("11111111-b", "planting", "cabbage-2", "threats", "cabbageworm")))
	assert.Contains(t, body, "does not name cabbage")
	body = squeezed(g.send("/site/mill-lane/log/treatment", spray("11111111-b", "planting", "squash-3", "threats", "cucumber-beetle", "with", "milk")))
	assert.Contains(t, body, "A home mix has no label")
	assert.Contains(t, body, "What trials found")
	assert.Contains(t, body, "no effect", "null results are shown")
	assert.NotRegexp(t, `\d+ (ml|g|tablespoons?) (per|a) `, body, "no rate")

	// What was done is logged as it was, with the reason and what stood against it.
	w := g.send("/site/mill-lane/log/treatment", spray("11111111-c", "told", "yes"))
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, w.Body.String(), "it stands in the record")
	w = g.send("/site/mill-lane/log/treatment", spray("11111111-c", "told", "yes", "despite", "the storm was coming"))
	require.Equal(t, http.StatusSeeOther, w.Code)
	var got garden.Record
	for _, r := range g.records() {
		if r.ID == "11111111-c" {
			got = r
		}
	}
	assert.Contains(t, got.Against, "too soon")
	assert.Contains(t, got.Against, "too many")
	assert.Equal(t, "the storm was coming", got.Despite)
	page := squeezed(g.get("/site/mill-lane/record"))
	assert.Contains(t, page, "the storm was coming")
	assert.Contains(t, page, "Stood against it")
	assert.Contains(t, page, "United States, restricted-use products")
}

func TestWorkAheadIsCheckedAndNotLogged(t *testing.T) {
	g := newGround(t)
	body := squeezed(g.send("/site/mill-lane/log/treatment", spray("11111111-d", "clock", "19:30", "told", "yes", "despite", "x")))
	assert.Contains(t, body, "This work lies ahead")
	assert.NotContains(t, body, "It was done")
	body = squeezed(g.send("/site/mill-lane/log/treatment", spray("11111111-d", "act", "check")))
	assert.Contains(t, body, "It was done: save it")
	assert.Empty(t, g.records())
}

func TestWorkByHandNeedsNoLabel(t *testing.T) {
	g := newGround(t)
	w := g.send("/site/mill-lane/log/treatment", spray("11111111-e", "with", withNothing, "method", "net over it"))
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	r := g.records()[0]
	assert.False(t, r.Sprayed())
	assert.Equal(t, "net over it", r.Method)
	w = g.send("/site/mill-lane/log/treatment", spray("11111111-f", "with", withOther))
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, w.Body.String(), "choose work by hand")
}

func TestARecordIsCorrected(t *testing.T) {
	g := newGround(t)
	require.Equal(t, http.StatusSeeOther, g.send("/site/mill-lane/log/treatment", spray("11111111-g", toldSpray("", "test", "yes", "amount", "12", "amount_unit", "ml", "temp", "70 F", "wind", "5 mph")...)).Code)
	r := g.records()[0]
	assert.InDelta(t, 21.11, float64(*r.Seen.Temp), 0.01)
	assert.InDelta(t, 2.235, float64(*r.Seen.Wind), 0.01)
	assert.True(t, r.Test)
	form := g.get("/site/mill-lane/log/entry/11111111-g/correct").Body.String()
	for _, want := range []string{`value="12"`, `value="cu" required checked`, `value="08:30"`, "21.11", "afterwards"} {
		assert.Contains(t, form, want)
	}
	w := g.send("/site/mill-lane/log/treatment", spray("22222222-g", toldSpray("", "test", "yes", "amount", "15", "replaces", "11111111-g", "why", "looked at the jug", "result", "leaves harmed", "result_on", webtest.Today.String())...))
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	assert.Len(t, g.records(), 2)
	stands := garden.Current(g.records())
	require.Len(t, stands, 1)
	assert.Equal(t, 15.0, *stands[0].Amount)
	assert.Equal(t, garden.Harmed, stands[0].Result)
	page := squeezed(g.get("/site/mill-lane/record"))
	assert.Contains(t, page, "What was there before")
	assert.Contains(t, page, "looked at the jug")
	body := squeezed(g.send("/site/mill-lane/log/treatment", spray("33333333-g", "clock", "08:50")))
	assert.Contains(t, body, "The test of 10 Jun harmed leaves")
	require.Equal(t, http.StatusSeeOther, g.send("/site/mill-lane/log/entry/22222222-g/undo", nil).Code)
	assert.Empty(t, garden.Current(g.records()))
}

// What was logged before there were records is on record too, and can be corrected.
func TestEarlierTreatmentsAreOnRecord(t *testing.T) {
	g := newGround(t)
	old := garden.Treatment{ID: "of-the-file", Site: north, Planting: "tomato-1", Threats: []string{"late-blight"}, At: (webtest.Today - 5).Slot(19, 0, webtest.Loc()), Ingredient: "sulfur", PreHarvestDays: 7}
	g.garden.Treatments = []garden.Treatment{old}
	require.NoError(t, g.store.AddTreatment(t.Context(), old))
	assert.Contains(t, squeezed(g.get("/site/mill-lane/record")), "Sulfur")
	w := g.send("/site/mill-lane/log/treatment", spray("11111111-h", toldSpray("", "replaces", "of-the-file", "why", "it was copper")...))
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	page := squeezed(g.get("/site/mill-lane/log/entry/11111111-h"))
	assert.Contains(t, page, "What was there before")
	assert.Contains(t, page, "Sulfur")
	done, err := g.store.Treatments(t.Context(), north)
	require.NoError(t, err)
	require.Len(t, done, 1)
	assert.Equal(t, "copper octanoate", done[0].Ingredient)
}
