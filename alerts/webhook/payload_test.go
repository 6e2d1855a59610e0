package webhook

import (
	"encoding/json"
	"flag"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/alerts"
	"plotwarden/plan"
)

var update = flag.Bool("update", false, "write the golden files")

// digest is an invented morning.
func digest() *alerts.Digest {
	return &alerts.Digest{
		SiteID: "long-field", Site: "Long Field", PersonID: "ada", Person: "Ada", Slot: time.Date(2026, 6, 4, 4, 30, 0, 0, time.UTC),
		Day: "Thu 4 Jun", Subject: "Long Field: 1 to act on, 1 approaching, 1 blind — Thu 4 Jun", Lead: "1 to act on, 1 approaching, 1 blind.",
		New: []alerts.Notice{{
			Readiness: plan.Act, Threat: "Late blight", Beds: []alerts.Bed{{Name: "Bed 3: Tomato", Link: "https://beds.example.org/site/long-field/planting/tom/threat/late-blight"}},
			Change: "New.", When: "by tomorrow", Sure: "Expected on 6 Jun.", Why: "Invented: 18 wet hours at 16 °C & more <to come>.",
			First: []alerts.StepLine{{Text: "Take off the lowest leaves.", By: "by tomorrow"}, {Text: "Look at 10 plants."}}, More: 2,
			Dry: "today 06:00 to 09:00", Caution: alerts.Caution, Numbers: []string{"wet hours: 18 h (invented; from memory)"}, Model: "An invented model",
			Link: "https://beds.example.org/site/long-field/planting/tom/threat/late-blight",
		}},
		Open: []alerts.Notice{{Readiness: plan.Approaching, Threat: "Squash vine borer", Beds: []alerts.Bed{{Name: "Bed 9: Summer squash"}}, When: "before Wed 17 Jun", Why: "Invented."}},
		Gone: []string{"Cabbage aphid, Bed 2: Kale: was act, now quiet."}, Blind: []alerts.Blind{{Since: "Blind since Tue 2 Jun 14:00 (2 days): no measured weather has come since.", What: []string{"Early blight, Bed 7: Tomato"}}},
		Dry:  []alerts.DryDay{{Day: "today", Hours: "06:00 to 09:00", Good: true}, {Day: "tomorrow", Hours: "none: wet leaves"}},
		Rest: "Also watched: 2 quiet.", Link: "https://beds.example.org/site/long-field", Credits: []string{"Weather: invented"},
		Told: &alerts.Told{Entries: map[string]alerts.Entry{"tom/late-blight": {Readiness: plan.Act}}},
	}
}

func pretty(t *testing.T, v any) string {
	t.Helper()
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	require.NoError(t, e.Encode(v))
	return b.String()
}

func TestGoldenPayload(t *testing.T) {
	got := pretty(t, PayloadOf(digest()))
	if *update {
		require.NoError(t, os.WriteFile("testdata/payload.json", []byte(got), 0o644))
	}
	want, err := os.ReadFile("testdata/payload.json")
	require.NoError(t, err)
	assert.Equal(t, string(want), got, "run with -update to accept")
}

// Every field that a target can get stands in PAYLOAD.md.
func TestEveryFieldIsDocumented(t *testing.T) {
	doc, err := os.ReadFile("PAYLOAD.md")
	require.NoError(t, err)
	var all map[string]any
	d := digest()
	d.Demo = "x"
	require.NoError(t, json.Unmarshal([]byte(pretty(t, PayloadOf(d))), &all))
	n := 0
	var walk func(path string, v any)
	walk = func(path string, v any) {
		switch v := v.(type) {
		case map[string]any:
			for k, x := range v {
				n++
				assert.Contains(t, string(doc), "| `"+strings.TrimPrefix(path+"."+k, ".")+"` |")
				walk(path+"."+k, x)
			}
		case []any:
			for _, x := range v {
				walk(path+"[]", x)
			}
		}
	}
	walk("", all)
	assert.Greater(t, n, 35)
}

func TestListsAreNeverNull(t *testing.T) {
	got := pretty(t, PayloadOf(&alerts.Digest{New: []alerts.Notice{{Readiness: plan.Act}}, Blind: []alerts.Blind{{}}}))
	assert.NotContains(t, got, "null")
}

func TestMessage(t *testing.T) {
	a, err := Message(digest(), "relay")
	require.NoError(t, err)
	b, err := Message(digest(), "relay")
	require.NoError(t, err)
	assert.Equal(t, a, b, "the same morning gives the same message")
	c, err := Message(digest(), "chat")
	require.NoError(t, err)
	assert.NotEqual(t, a.Key, c.Key, "two targets are two messages")
	assert.Equal(t, Channel, a.Channel)
	assert.Equal(t, "ada", a.Person)
	told, err := alerts.ParseTold(a.Told)
	require.NoError(t, err)
	assert.Equal(t, digest().Told, told)
	m, err := parse(a.Body)
	require.NoError(t, err)
	assert.Equal(t, "relay", m.Target)
	assert.Regexp(t, `^msg_[a-z2-7]{32}$`, m.ID)
	assert.JSONEq(t, pretty(t, PayloadOf(digest())), string(m.Payload))
}

func FuzzParse(f *testing.F) {
	m, err := Message(digest(), "relay")
	require.NoError(f, err)
	f.Add(m.Body)
	f.Add([]byte(`{"id":"a.b","target":"x","payload":{}}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		m, err := parse(b)
		if err == nil && (m.ID == "" || strings.Contains(m.ID, ".") || m.Target == "" || !json.Valid(m.Payload)) {
			t.Fatalf("%q passes", b)
		}
	})
}
