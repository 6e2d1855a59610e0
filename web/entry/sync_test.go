package entry

import (
	"encoding/base64"
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/web/webtest"
)

type answer struct {
	Entries []outcome `json:"entries"`
}

// queue is what a phone sends: entries of one person made at a time.
func queue(entered time.Time, person string, forms ...queued) string {
	for i := range forms {
		forms[i].Entered, forms[i].Person = entered, person
	}
	b, err := json.Marshal(map[string]any{"entries": forms})
	if err != nil {
		panic(err)
	}
	return string(b)
}

func (g *ground) sync(t *testing.T, body string) []outcome {
	t.Helper()
	w := g.sendJSON("/site/mill-lane/log/entries", body)
	require.Equal(t, http.StatusOK, w.Code, w.Body)
	var a answer
	require.NoError(t, json.Unmarshal(w.Body.Bytes(), &a))
	return a.Entries
}

func TestWhatWaitedIsTaken(t *testing.T) {
	g := newGround(t)
	made := g.now.Add(-3 * time.Hour)
	photo := base64.StdEncoding.EncodeToString(jpegOf(t, scene(30, 20)))
	body := queue(made, "ash", queued{Kind: "look", Fields: look("11111111-a", "found"), Photos: []string{photo}},
		queued{Kind: "treatment", Fields: spray("22222222-a", "clock", "06:10")}, queued{Kind: "look", Fields: look("33333333-a", "none", "threat", "")}, queued{Kind: "song", Fields: look("44444444-a", "none")})
	got := g.sync(t, body)
	require.Len(t, got, 4)
	assert.Equal(t, [4]state{kept, kept, refused, refused}, [4]state{got[0].State, got[1].State, got[2].State, got[3].State})
	assert.Equal(t, "/site/mill-lane/log/entry/11111111-a", got[0].Href)
	assert.Equal(t, "Choose one.", got[2].Faults[0].Text)
	assert.NotEmpty(t, got[1].Checks, "what stood against it is told afterwards")
	x := g.looks()[0]
	assert.True(t, made.UTC().Truncate(time.Second).Equal(x.Entered), "when it was made, not when it came in")
	assert.Equal(t, "ash", x.By)
	assert.Len(t, x.Photos, 1)
	assert.NotNil(t, g.records()[0].Weather)

	// Sent again after an answer that was lost, hours later, with another forecast.
	g.now = g.now.Add(5 * time.Hour)
	again := g.sync(t, body)
	assert.Equal(t, [2]state{known, known}, [2]state{again[0].State, again[1].State})
	assert.Len(t, g.looks(), 1)
	assert.Len(t, g.records(), 1)

	clash := g.sync(t, queue(made, "ash", queued{Kind: "look", Fields: look("11111111-a", "unsure")}, queued{Kind: "treatment", Fields: spray("22222222-a", "clock", "06:10", "amount", "9")}))
	assert.Equal(t, [2]state{conflicting, conflicting}, [2]state{clash[0].State, clash[1].State})
	assert.Contains(t, clash[0].Text, "Late blight: found", "what stands is said")
	assert.Equal(t, garden.Found, g.looks()[0].Finding, "and stays")
}

func TestAnotherPersonsEntryIsNotTakenForTheirs(t *testing.T) {
	g := newGround(t)
	got := g.sync(t, queue(g.now, "elm", queued{Kind: "look", Fields: look("11111111-b", "none")}))
	assert.Equal(t, refused, got[0].State)
	assert.Contains(t, got[0].Faults[0].Text, "Sign in as that person")
	assert.Empty(t, g.looks())
}

func TestWhatCannotHaveBeenLogged(t *testing.T) {
	g := newGround(t)
	for name, c := range map[string]struct {
		entered time.Time
		q       queued
		want    string
	}{
		"a clock that runs ahead": {g.now.Add(48 * time.Hour), queued{Kind: "look", Fields: look("11111111-c", "none")}, "clock of the phone"},
		"no time":                 {time.Time{}, queued{Kind: "look", Fields: look("11111111-c", "none")}, "clock of the phone"},
		"work ahead":              {g.now, queued{Kind: "treatment", Fields: spray("11111111-c", "clock", "23:00")}, "once it is done"},
		"no photo":                {g.now, queued{Kind: "look", Fields: look("11111111-c", "none"), Photos: []string{"%%%"}}, "no photo that can be read"},
		"nothing at all":          {g.now, queued{Kind: "look", Fields: url.Values{}}, "Load the page again"},
	} {
		got := g.sync(t, queue(c.entered, "ash", c.q))
		assert.Equal(t, refused, got[0].State, name)
		var all string
		for _, f := range got[0].Faults {
			all += f.Text
		}
		assert.Contains(t, all, c.want, name)
	}
	for _, body := range []string{"", "[]", `{"entries":5}`, `{"entries":[` + strings.TrimSuffix(strings.Repeat("{},", mostQueued+1), ",") + "]}"} {
		assert.Equal(t, http.StatusBadRequest, g.sendJSON("/site/mill-lane/log/entries", body).Code, body)
	}
	assert.Empty(t, g.looks())
}

// Whatever comes as JSON: an answer, and never one of the server's own faults.
func FuzzSync(f *testing.F) {
	f.Add(queue(webtest.Now(), "ash", queued{Kind: "look", Fields: look("11111111-d", "found", "percent", "5")}))
	f.Add(queue(webtest.Now(), "ash", queued{Kind: "treatment", Fields: spray("11111111-d", "with", "-other", "product", "soap", "temp", "70 F", "until", "09:00", "mix", "milk")}))
	f.Add(`{"entries":[{"kind":"look","fields":{"id":null}}]}`)
	g := newGround(f)
	f.Fuzz(func(t *testing.T, body string) {
		if w := g.sendJSON("/site/mill-lane/log/entries", body); w.Code != http.StatusOK && w.Code != http.StatusBadRequest {
			t.Fatalf("%d: %s", w.Code, w.Body)
		}
	})
}

func TestPushIsAskedForByAPerson(t *testing.T) {
	g := newGround(t)
	assert.Contains(t, squeezed(g.get("/you/push")), "not set up here")
	assert.Equal(t, http.StatusNotFound, g.sendJSON("/you/push", "{}").Code)
	assert.Equal(t, http.StatusNotFound, g.send("/you/push/x/end", nil).Code)
	assert.Contains(t, squeezed(g.get("/waiting")), "Waiting on this phone")
	g.who.Role = ""
	assert.Equal(t, http.StatusOK, g.get("/waiting").Code, "also for who is signed out: nothing of anybody is in it")
	assert.Equal(t, http.StatusSeeOther, g.get("/you/push").Code)
}
