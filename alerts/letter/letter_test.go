package letter

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/lang/langtest"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/store"
)

var (
	update = flag.Bool("update", false, "write the golden files anew")
	today  = civil.New(2026, 6, 4)
)

type threats map[string]*catalog.Threat

func (t threats) ByID(id string) (*catalog.Threat, bool) {
	x, ok := t[id]
	return x, ok
}

// The region, its finds and the numbers are invented.
func region() Input {
	made := risk.Source{Text: "Author 1999", Standing: risk.FromMemory}
	book := threats{
		"vine-borer": {ID: "vine-borer", Name: "squash vine borer", Latin: "Invented vinea", Look: "sawdust at the stem", Where: "at the base", Source: made,
			Threshold: []catalog.ActionThreshold{{Crop: "squash", Measure: "moths a week", Value: "5", Small: "1 moth", Source: made}},
			Cultural:  []catalog.Advice{{Kind: "cover", Text: "Cover the plants before the moths fly.", Source: made}},
			Materials: []catalog.Material{{Ingredient: "an ingredient", Text: "works on young larvae only", Source: made}}},
		"aphid": {ID: "aphid", Name: "cabbage aphid", Look: "grey clusters", Source: made},
	}
	at := time.Date(2026, 6, 4, 10, 0, 0, 0, time.UTC)
	ahead := func(days int) *risk.Outlook {
		return &risk.Outlook{P10: today.AddDays(days - 4), P50: today.AddDays(days), P90: today.AddDays(days + 5)}
	}
	north := &garden.Site{ID: "north", Name: "North *ground*", Zone: "America/New_York"}
	south := &garden.Site{ID: "south", Name: "South", Zone: "America/New_York"}
	west := &garden.Site{ID: "west", Name: "West", Zone: "America/New_York"}
	return Input{
		Region: garden.Region{ID: "valley", Name: "The valley"}, Today: today, Threats: book, Credits: []string{"Weather data by a service"},
		Grounds: []Ground{
			{Site: north, Seen: []garden.Scouting{
				{ID: "f1", Threat: "aphid", Date: today - 1, Finding: garden.Found, Stage: "winged ones", Share: true, By: "secret-person", Note: "secret note"},
				{ID: "f2", Threat: "vine-borer", Date: today - 1, Finding: garden.Found, Share: false},
				{ID: "f3", Threat: "vine-borer", Date: today - 20, Finding: garden.Found, Share: true},
				{ID: "f4", Threat: "vine-borer", Date: today, Finding: garden.None, Share: true},
			}, Round: &store.Round{At: at, Assessments: []plan.Assessment{
				{Threat: "vine-borer", Planting: "a", Readiness: plan.Approaching, Outlook: ahead(18)},
				{Threat: "vine-borer", Planting: "b", Readiness: plan.Act, Outlook: ahead(9)},
				{Threat: "aphid", Planting: "c", Readiness: plan.Present},
			}}},
			{Site: south, Round: &store.Round{At: at, Assessments: []plan.Assessment{{Threat: "aphid", Readiness: plan.Blind}}}},
			{Site: west},
		},
	}
}

func golden(t *testing.T, name, got string) {
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o600))
		return
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "run the test with -update, then read what changed")
	assert.Equal(t, string(want), got)
}

func TestGoldenLetter(t *testing.T) {
	l := Compose(region())
	page, err := l.HTML()
	require.NoError(t, err)
	golden(t, "valley.md", l.Markdown())
	golden(t, "valley.html", page)
}

func TestWhatIsToldAndWhatIsNot(t *testing.T) {
	l := Compose(region())
	require.Len(t, l.Items, 2)
	assert.Equal(t, "Cabbage aphid", l.Items[0].Name, "what was seen comes first")
	assert.Equal(t, []string{"North *ground*, 3 Jun: winged ones"}, l.Items[0].Seen)
	borer := l.Items[1]
	assert.Empty(t, borer.Seen, "a find that was not shared, an old one and a look without a find are no news")
	require.Len(t, borer.Predicted, 1, "one line a ground: the earliest planting")
	assert.Contains(t, borer.Predicted[0], "most likely 13 Jun")
	assert.Len(t, l.Blind, 2)
	page, err := l.HTML()
	require.NoError(t, err)
	for _, form := range []string{l.Markdown(), page} {
		flat := strings.Join(strings.Fields(form), " ")
		assert.NotContains(t, flat, "secret")
		assert.Contains(t, flat, Caution)
		assert.Contains(t, flat, "no all-clear")
		assert.Contains(t, flat, "from memory")
		assert.Contains(t, flat, "1 moth")
	}
	assert.Contains(t, l.Markdown(), `North \*ground\*`)
}

func TestAnEmptyWeekIsNoAllClear(t *testing.T) {
	in := region()
	in.Grounds = nil
	l := Compose(in)
	assert.Contains(t, l.Lead, "does not mean that nothing can come")
}

// Every threat of the shipped catalogue makes an item with what to look for.
func TestTheWholeCatalogue(t *testing.T) {
	book, err := catalog.Load()
	require.NoError(t, err)
	in := region()
	in.Threats = book
	var seen []garden.Scouting
	for _, id := range book.IDs() {
		seen = append(seen, garden.Scouting{ID: id, Threat: id, Date: today, Finding: garden.Found, Share: true})
	}
	in.Grounds = []Ground{{Site: in.Grounds[0].Site, Seen: seen}}
	l := Compose(in)
	require.Len(t, l.Items, len(seen))
	for _, it := range l.Items {
		assert.NotEmpty(t, it.LookFor, it.Name)
		assert.NotContains(t, it.LookFor, "..", it.Name)
	}
	_, err = l.HTML()
	assert.NoError(t, err)
}

// A Spanish draft has Spanish words and marks what the catalogue has in English only.
func TestASpanishLetter(t *testing.T) {
	in := region()
	in.Language = garden.Spanish
	l := Compose(in)
	html, err := l.HTML()
	require.NoError(t, err)
	assert.Contains(t, html, `<html lang="es">`)
	md := l.Markdown()
	for _, text := range []string{html, md} {
		assert.Contains(t, text, "Borrador.")
		assert.Contains(t, text, "Qué hacer primero")
		assert.Contains(t, text, "Próxima revisión:")
		for _, english := range []string{"Next check", "week of", "What to", "from memory", "seen this week"} {
			assert.NotContains(t, text, english)
		}
	}
	assert.Contains(t, html, `<span lang="en">[en] `)
	in.Language = ""
	l = Compose(in)
	english, err := l.HTML()
	require.NoError(t, err)
	assert.Contains(t, english, "Next check:", "one language does not stay for the next")
}

func TestTheLettersSentencesHaveTheirSpanish(t *testing.T) {
	keys, err := langtest.GoKeys(os.DirFS("."), "T", "t")
	require.NoError(t, err)
	page, err := langtest.TemplateKeys(os.DirFS("."))
	require.NoError(t, err)
	assert.Greater(t, len(keys), 10)
	assert.Greater(t, len(page), 6)
	assert.Empty(t, langtest.Missing(garden.Spanish, append(keys, page...)))
}
