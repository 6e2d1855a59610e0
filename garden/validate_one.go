package garden

import (
	"maps"
	"slices"
)

// Around is what one part of a garden is checked against: the rest of it.
type Around struct {
	Known
	Site   func(id string) *Site // nil for one that is not there
	Person func(id string) bool
	// SiteIDs and PersonIDs are asked for the nearest spelling only.
	SiteIDs, PersonIDs func() []string
}

func (g *Garden) around(known Known) Around {
	sites, people := make(map[string]*Site, len(g.Sites)), make(map[string]bool, len(g.People))
	for i := range g.Sites {
		sites[g.Sites[i].ID] = &g.Sites[i]
	}
	for i := range g.People {
		people[g.People[i].ID] = true
	}
	return Around{
		Known: known, Site: func(id string) *Site { return sites[id] }, Person: func(id string) bool { return people[id] },
		SiteIDs:   func() []string { return slices.Sorted(maps.Keys(sites)) },
		PersonIDs: func() []string { return slices.Sorted(maps.Keys(people)) },
	}
}

// ValidateSite returns what is wrong with one site, and what may stand but is
// likely a slip. Its cost does not grow with the garden around it.
func ValidateSite(s *Site, a Around) (problems, warnings []Problem) {
	return one(a, func(v *validator) {
		v.id(&s.ID, s, &ids{what: "site"})
		v.site(s)
	})
}

// ValidatePerson is ValidateSite for a person.
func ValidatePerson(p *Person, a Around) (problems, warnings []Problem) {
	return one(a, func(v *validator) {
		v.id(&p.ID, p, &ids{what: "person"})
		v.person(p)
	})
}

// ValidateRegion is ValidateSite for a region.
func ValidateRegion(r *Region, a Around) (problems, warnings []Problem) {
	return one(a, func(v *validator) {
		v.id(&r.ID, r, &ids{what: "region"})
		v.region(r)
	})
}

// ValidateMaterial is ValidateSite for a material.
func ValidateMaterial(m *Material) []Problem {
	problems, _ := one(Around{}, func(v *validator) {
		v.id(&m.ID, m, &ids{what: "material"})
		v.material(m)
	})
	return problems
}

// ValidateScouting is ValidateSite for an entry of the log.
func ValidateScouting(s *Scouting, a Around) (problems, warnings []Problem) {
	return one(a, func(v *validator) { v.scouting(s) })
}

// ValidateTreatment is ValidateSite for a treatment.
func ValidateTreatment(t *Treatment, a Around) (problems, warnings []Problem) {
	return one(a, func(v *validator) { v.treatment(t) })
}

func one(a Around, check func(*validator)) (problems, warnings []Problem) {
	v := &validator{Around: a}
	check(v)
	return v.problems, v.warnings
}
