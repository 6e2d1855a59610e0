package garden

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFaultsNameTheirField(t *testing.T) {
	g := good(t)
	a := g.around(known)
	s := &g.Sites[0]
	for want, spoil := range map[string]func(s *Site){
		"zone":                          func(s *Site) { s.Zone = "" },
		"latitude":                      func(s *Site) { s.Latitude = 91 },
		"":                              func(s *Site) { s.Latitude, s.Longitude = 0, 0 },
		"plots[1].grower":               func(s *Site) { s.Plots[1].Grower = "nobody" },
		"plots[0].plantings[1].removed": func(s *Site) { s.Plots[0].Plantings[1].Removed = s.Plots[0].Plantings[1].Sown },
		"plots[0].plantings[2].crop":    func(s *Site) { s.Plots[0].Plantings[2].Crop = "" },
		"plots[0].plantings[2]":         func(s *Site) { s.Plots[0].Plantings[2].Sown = 0 },
		"plots[1].id":                   func(s *Site) { s.Plots[1].ID = "a" },
	} {
		g := good(t)
		s := &g.Sites[0]
		spoil(s)
		problems, _ := ValidateSite(s, a)
		require.Len(t, problems, 1, want)
		assert.Equal(t, want, FaultsOf(s, problems)[0].Field)
	}
	problems, warnings := ValidateSite(s, a)
	assert.Empty(t, problems)
	assert.Empty(t, warnings)

	p := &Person{ID: "wren", Sites: []string{"north", "nroth"}, Mute: []Mute{{Threat: "squash-vine-borer"}}}
	problems, _ = ValidatePerson(p, a)
	assert.ElementsMatch(t, []Fault{
		{"sites[1]", `site "nroth" is not known; did you mean "north"?`},
		{"mute[0].until", "mute has no until; write the last day, so that it is not forgotten"},
	}, FaultsOf(p, problems))

	m := &Material{ID: "m", Kind: KindCopper}
	assert.Equal(t, "ingredient", FaultsOf(m, ValidateMaterial(m))[0].Field)
	below := -1
	m = &Material{ID: "m", Ingredient: "x", PreHarvestDays: &below}
	assert.Equal(t, "preHarvestDays", FaultsOf(m, ValidateMaterial(m))[0].Field)

	r := &Region{ID: "valley", Volunteers: []string{"nobody"}}
	problems, _ = ValidateRegion(r, a)
	assert.Equal(t, "volunteers[0]", FaultsOf(r, problems)[0].Field)

	assert.Empty(t, FieldPath(s, &below), "outside")
	assert.Empty(t, FieldPath(s, nil))
}

// A part alone is judged as it is within the whole.
func TestOnePartIsJudgedAsInTheWhole(t *testing.T) {
	g := good(t)
	g.Sites[0].Plots[0].Plantings[0].Crop = "kail"
	g.People[0].QuietHours = QuietHours{60, 60}
	g.Scoutings[0].Threat = "nothing"
	g.Treatments[0].Planting = "nothing"
	whole, _ := g.Validate(known)
	a := g.around(known)
	var parts []Problem
	add := func(p, _ []Problem) { parts = append(parts, p...) }
	add(ValidateSite(&g.Sites[0], a))
	add(ValidatePerson(&g.People[0], a))
	add(ValidateRegion(&g.Regions[0], a))
	add(ValidateScouting(&g.Scoutings[0], a))
	add(ValidateTreatment(&g.Treatments[0], a))
	assert.Len(t, whole, 4)
	assert.ElementsMatch(t, whole, parts)
}
