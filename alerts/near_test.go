package alerts

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/weather"
)

// A neighbour's find is told apart from what models expect: with the finder's
// consent alone, without the finder, once, and only of what the person watches.
func TestNeighboursFinds(t *testing.T) {
	in := busy()
	in.Person.ID = "ada" // tends bed 3
	other := &garden.Site{ID: "south", Name: "South ground"}
	find := func(id string, edit func(*garden.Scouting)) garden.Scouting {
		s := garden.Scouting{ID: id, Site: "south", Threat: "late-blight", Date: today - 1, Finding: garden.Found, Stage: "eggs", By: "bo", Share: true, Note: "my secret note"}
		if edit != nil {
			edit(&s)
		}
		return s
	}
	in.Near = []Near{{other, []garden.Scouting{
		find("told", nil),
		find("unshared", func(s *garden.Scouting) { s.Share = false }),
		find("old", func(s *garden.Scouting) { s.Date = today - 7 }),
		find("none", func(s *garden.Scouting) { s.Finding = "none" }),
		find("ahead", func(s *garden.Scouting) { s.Date = today + 1 }),
		find("elsewhere", func(s *garden.Scouting) { s.Threat = "pea-aphid" }),
		find("own", func(s *garden.Scouting) { s.By = "ada" }),
		find("wrong", nil), {ID: "taken-back", Replaces: "wrong", Withdrawn: true, Site: "south", Threat: "late-blight", Date: today - 1},
	}}, {in.Site, []garden.Scouting{
		find("bed", func(s *garden.Scouting) { s.Site, s.Planting = in.Site.ID, "cab" }),
		find("mine", func(s *garden.Scouting) { s.Site, s.Planting = in.Site.ID, "tom" }),
	}}}
	d, send := Compose(in)
	require.True(t, send)
	require.Equal(t, []string{"Late blight (eggs): found at Bed 9: Cabbage on 3 Jun.", "Late blight (eggs): found at South ground on 3 Jun."}, d.Near)
	assert.Equal(t, []string{"bed", "told"}, d.Told.Finds)
	text := d.Text()
	assert.Contains(t, text, "FOUND BY NEIGHBOURS\n- Late blight (eggs): found at Bed 9")
	assert.Contains(t, d.Subject, "2 found by neighbours")
	for _, private := range []string{"bo", "secret"} {
		assert.NotContains(t, strings.Fields(text), private)
	}
	html, err := d.HTML()
	require.NoError(t, err)
	assert.Contains(t, html, ">Found by neighbours</h2>")

	in.Told = d.Told
	d, _ = Compose(in)
	assert.Empty(t, d.Near, "told once")
	assert.Equal(t, []string{"bed", "told"}, d.Told.Finds)
}

// A new find breaks the silence of who wants none without news.
func TestANeighboursFindIsNews(t *testing.T) {
	in := busy()
	first, _ := Compose(in)
	in.Told, in.Person.Quiet = first.Told, true
	in.Assessments = in.Assessments[:0]
	for _, a := range busy().Assessments { // none whose last day is at hand
		a.Steps = nil
		in.Assessments = append(in.Assessments, a)
	}
	_, send := Compose(in)
	require.False(t, send)
	in.Near = []Near{{&garden.Site{ID: "south"}, []garden.Scouting{{ID: "f", Threat: "late-blight", Date: today, Finding: garden.Found, Share: true}}}}
	_, send = Compose(in)
	assert.True(t, send)
}

func TestSourcesThatDisagreeAreTold(t *testing.T) {
	in := busy()
	in.Disagreements = []store.Disagreement{{A: "open-meteo", B: "met-norway", Var: weather.Temp, MeanA: 12.04, MeanB: 17}, {A: "open-meteo", B: "nws", Var: weather.Rain, MeanA: 0, MeanB: 25.4}}
	d, _ := Compose(in)
	assert.Equal(t, []string{
		"open-meteo and met-norway forecast different weather for the coming days: temperature 12.0 °C against 17.0 °C.",
		"open-meteo and nws forecast different weather for the coming days: rain 0.0 mm against 25.4 mm a day.",
	}, d.Apart)
	assert.Contains(t, d.Text(), "SOURCES DISAGREE")
	html, err := d.HTML()
	require.NoError(t, err)
	assert.Contains(t, html, "25.4 mm a day")
	in.Person.Units, in.Person.Language = garden.US, garden.Spanish
	d, _ = Compose(in)
	assert.Equal(t, "open-meteo y nws pronostican un tiempo distinto para los próximos días: lluvia 0.00 in frente a 1.00 in al día.", d.Apart[1])
}
