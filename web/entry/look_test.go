package entry

import (
	"net/http"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/web/webtest"
)

func TestALookIsOnePress(t *testing.T) {
	g := newGround(t)
	body := g.get("/site/mill-lane/log?planting=tomato-1&threat=late-blight").Body.String()
	assert.Contains(t, body, `value="late-blight" required checked`, "planting and threat of the link are chosen")
	w := g.send("/site/mill-lane/log", look("11111111-a", "none", "plants", "10"))
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	assert.Equal(t, "/site/mill-lane/log/entry/11111111-a", w.Header().Get("Location"))
	got := g.looks()
	require.Len(t, got, 1)
	assert.Equal(t, garden.None, got[0].Finding)
	assert.Equal(t, 10, got[0].Plants)
	assert.Equal(t, "ash", got[0].By)
	assert.Equal(t, webtest.Today, got[0].Date)
	assert.Equal(t, "1", got[0].Plot)
	assert.False(t, got[0].Share, "shared only with consent")
	assert.Equal(t, []string{north}, g.told, "the site is judged anew")
	page := squeezed(g.get(w.Header().Get("Location")))
	assert.Contains(t, page, "Late blight: looked, found none")
	assert.Contains(t, page, "Undo")
	assert.Contains(t, page, "Correct")
}

func TestALookWithEverything(t *testing.T) {
	g := newGround(t)
	w := g.send("/site/mill-lane/log", look("11111111-b", "found", "percent", "0.1", "bbch", "60", "stage", "lowest leaves", "plants", "20", "count", "3",
		"note", "by the path", "share", "yes", "date", (webtest.Today-2).String()))
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	x := g.looks()[0]
	assert.Equal(t, 0.1, *x.Percent)
	assert.Equal(t, [3]int{60, 3, 20}, [3]int{*x.BBCH, *x.Count, x.Plants})
	assert.True(t, x.Share)
	assert.Equal(t, webtest.Today-2, x.Date)
	page := squeezed(g.get("/site/mill-lane/log/entry/11111111-b"))
	for _, want := range []string{"0.1 % affected", "by the path", "growth stage 60", "entered Wed 10 Jun 2026 09:07 by Ash"} {
		assert.Contains(t, page, want)
	}
}

func TestWhatIsWrongIsSaidBesideTheField(t *testing.T) {
	g := newGround(t)
	for name, c := range map[string]struct {
		form url.Values
		want string
	}{
		"no threat":       {look("11111111-c", "none", "threat", ""), "Choose one."},
		"unknown threat":  {look("11111111-c", "none", "threat", "nothing"), "Choose one of those offered."},
		"unknown bed":     {look("11111111-c", "none", "planting", "nowhere"), "Choose a bed."},
		"tomorrow":        {look("11111111-c", "none", "date", (webtest.Today + 1).String()), "The day lies ahead."},
		"no day":          {look("11111111-c", "none", "date", "June"), "Write a day, such as 2026-06-10."},
		"too much":        {look("11111111-c", "found", "percent", "101"), "Write a number from 0 to 100."},
		"half a plant":    {look("11111111-c", "found", "plants", "1.5"), "Write a whole number."},
		"none and some":   {look("11111111-c", "none", "percent", "5"), "You pressed “found none”"},
		"found and 0":     {look("11111111-c", "found", "count", "0"), "You pressed “found”, and wrote 0."},
		"no finding":      {look("11111111-c", ""), "Press one of"},
		"strange finding": {look("11111111-c", "maybe"), "Choose one of those offered."},
		"long note":       {look("11111111-c", "none", "note", string(make([]rune, maxNote+1))), "At most 2000 characters."},
		"no id":           {look("", "none"), "Load the page again."},
		"strange id":      {look("../../x", "none"), "Load the page again."},
	} {
		w := g.send("/site/mill-lane/log", c.form)
		assert.Equal(t, http.StatusUnprocessableEntity, w.Code, name)
		assert.Contains(t, w.Body.String(), c.want, name)
	}
	assert.Empty(t, g.looks())
	w := g.send("/site/mill-lane/log", look("11111111-c", "found", "percent", "0,5"))
	assert.Equal(t, http.StatusSeeOther, w.Code, "a comma is a point")
	assert.Equal(t, 0.5, *g.looks()[0].Percent)
}

func TestSentTwiceIsKeptOnce(t *testing.T) {
	g := newGround(t)
	f := look("11111111-d", "none")
	require.Equal(t, http.StatusSeeOther, g.send("/site/mill-lane/log", f).Code)
	g.now = g.now.Add(7e9)
	require.Equal(t, http.StatusSeeOther, g.send("/site/mill-lane/log", f).Code)
	assert.Len(t, g.looks(), 1)
	w := g.send("/site/mill-lane/log", look("11111111-d", "found"))
	assert.Equal(t, http.StatusConflict, w.Code, "the same form with other values")
	assert.Contains(t, w.Body.String(), "that entry stands")
	assert.Equal(t, garden.None, g.looks()[0].Finding)
}

func TestACorrectionKeepsTheTrail(t *testing.T) {
	g := newGround(t)
	g.send("/site/mill-lane/log", look("11111111-e", "none", "share", "yes"))
	form := g.get("/site/mill-lane/log/entry/11111111-e/correct").Body.String()
	assert.Contains(t, form, `name="replaces" value="11111111-e"`)
	assert.Contains(t, form, `name="share" value="yes" checked`)
	w := g.send("/site/mill-lane/log", look("22222222-e", "found", "replaces", "11111111-e"))
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code, "without saying why")
	w = g.send("/site/mill-lane/log", look("22222222-e", "found", "replaces", "11111111-e", "why", "saw it on the way back"))
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	assert.Len(t, g.looks(), 2, "the first is still there")
	stands := garden.Looks(g.looks())
	require.Len(t, stands, 1)
	assert.Equal(t, garden.Found, stands[0].Finding)
	page := squeezed(g.get("/site/mill-lane/log/entry/11111111-e"))
	assert.Contains(t, page, "saw it on the way back")
	assert.Contains(t, page, "What was there before")

	require.Equal(t, http.StatusSeeOther, g.send("/site/mill-lane/log/entry/22222222-e/undo", nil).Code)
	assert.Empty(t, garden.Looks(g.looks()))
	assert.Len(t, g.looks(), 3)
	assert.Contains(t, squeezed(g.get("/site/mill-lane/log/entry/11111111-e")), "Taken back")
	assert.NotContains(t, squeezed(g.get("/site/mill-lane/log/all")), "Late blight: found")
}

func TestTwoWhoCorrectApartAreBothShown(t *testing.T) {
	g := newGround(t)
	g.send("/site/mill-lane/log", look("11111111-f", "none"))
	g.now = g.now.Add(60e9)
	g.send("/site/mill-lane/log", look("22222222-f", "found", "replaces", "11111111-f", "why", "one"))
	g.now = g.now.Add(60e9)
	g.send("/site/mill-lane/log", look("33333333-f", "unsure", "replaces", "11111111-f", "why", "other"))
	page := squeezed(g.get("/site/mill-lane/log/entry/11111111-f"))
	assert.Contains(t, page, "corrected twice")
	assert.Contains(t, page, "looked, not sure")
	assert.Contains(t, page, "Late blight: found")
}

// Who may: see access.Who. A neighbour neither reads nor corrects what its finder
// did not share; who only reads adds nothing.
func TestRightsOfTheLog(t *testing.T) {
	g := newGround(t)
	g.as("elm", access.Grower)
	g.send("/site/mill-lane/log", look("11111111-g", "found", "planting", "tomato-8"))
	require.Len(t, g.looks(), 1)
	g.as("ash", access.Grower)
	assert.Equal(t, http.StatusNotFound, g.get("/site/mill-lane/log/entry/11111111-g").Code)
	assert.NotContains(t, g.get("/site/mill-lane/log/all").Body.String(), "Late blight: found")
	w := g.send("/site/mill-lane/log", look("22222222-g", "none", "planting", "tomato-8", "replaces", "11111111-g", "why", "x"))
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Equal(t, http.StatusNotFound, g.send("/site/mill-lane/log/entry/11111111-g/undo", nil).Code)

	g.as("ash", access.Reader)
	assert.Equal(t, http.StatusSeeOther, g.get("/site/mill-lane/log").Code, "to the list")
	for _, path := range []string{"/site/mill-lane/log/treatment", "/site/mill-lane/log/choices", "/site/mill-lane/log/entry/11111111-g/correct"} {
		assert.Equal(t, http.StatusForbidden, g.get(path).Code, path)
	}
	assert.Equal(t, http.StatusForbidden, g.send("/site/mill-lane/log", look("33333333-g", "none")).Code)
	assert.Equal(t, http.StatusForbidden, g.send("/site/mill-lane/log/treatment", spray("33333333-g")).Code)
	assert.Equal(t, http.StatusForbidden, g.sendJSON("/site/mill-lane/log/entries", `{"entries":[]}`).Code)

	g.as("ash", access.Grower)
	for _, path := range []string{"/site/school-yard/log", "/site/school-yard/gate", "/site/school-yard/record", "/site/school-yard/log/all"} {
		assert.Equal(t, http.StatusNotFound, g.get(path).Code, path)
	}
	g.who = access.Who{}
	assert.Equal(t, http.StatusUnauthorized, g.sendJSON("/site/mill-lane/log/entries", `{"entries":[]}`).Code, "the phone keeps what it has")
	assert.Len(t, g.looks(), 1)
}

func TestRecentBedsComeFirst(t *testing.T) {
	g := newGround(t)
	assert.Equal(t, "tomato-1", firstBed(t, g))
	g.send("/site/mill-lane/log", look("11111111-h", "none", "planting", "kale-9", "threat", "cabbageworm"))
	assert.Equal(t, "kale-9", firstBed(t, g))
}
