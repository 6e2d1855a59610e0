package tuning

import (
	"fmt"
	"slices"

	"go.yaml.in/yaml/v3"

	"plotwarden/risk"
	"plotwarden/risk/catalog"
)

// View is a catalogue as a region uses it: its changes in force, the published
// numbers still there.
type View struct {
	*catalog.Catalogue                    // with the changes
	Published          *catalog.Catalogue // without
	applied            map[string][]Tuning
	// Notes says which changes are not in force, and why.
	Notes []string
}

// Of returns the changes that are in force for a model.
func (v *View) Of(id string) []Tuning { return v.applied[id] }

// Apply puts the changes of a region in force. Later ones of the same number take
// the place of earlier ones; undone ones have no effect. A change of a model that
// the catalogue does not have, or whose published number is another by now, is
// left out and noted: it was made against something else.
func Apply(cat *catalog.Catalogue, region string, tunings []Tuning) *View {
	v := &View{Published: cat, applied: map[string][]Tuning{}}
	models := map[string]catalog.Model{}
	for i := range tunings {
		t := &tunings[i]
		if t.Undone != nil || superseded(tunings[i+1:], t) {
			continue
		}
		published, ok := cat.Model(t.Model)
		if !ok {
			v.note(t, "the catalogue has no such model")
			continue
		}
		if now, err := Value(published, t.What, t.Stage); err != nil || now != t.Published {
			if err == nil {
				err = fmt.Errorf("the published number is %s now and was %s", now, t.Published)
			}
			v.note(t, err.Error())
			continue
		}
		base, ok := models[t.Model]
		if !ok {
			base = *published
		}
		// Each change is made on top of those before it.
		m, err := base.Rewritten(func(n *yaml.Node) error { return edit(n, t) })
		if err != nil {
			v.note(t, err.Error())
			continue
		}
		m.Notes = append(slices.Clone(m.Notes), "Tuned for "+region+". "+t.Words())
		m.Parts = append(slices.Clone(m.Parts), catalog.Part{What: upper(words(t.What, t.Stage)) + ", " + t.Tuned,
			Source: risk.Source{Text: fmt.Sprintf("tuned for %s by %s on %s; published: %s", region, t.Who, t.When, t.Published), Standing: risk.Derived}})
		models[t.Model] = m
		v.applied[t.Model] = append(v.applied[t.Model], *t)
	}
	v.Catalogue = cat.Changed(models)
	return v
}

// superseded says whether a later change in force is of the same number.
func superseded(later []Tuning, t *Tuning) bool {
	for i := range later {
		if later[i].Same(t) && later[i].Undone == nil {
			return true
		}
	}
	return false
}

func (v *View) note(t *Tuning, why string) {
	v.Notes = append(v.Notes, fmt.Sprintf("%s, %s to %s: not in force, %s", t.Model, words(t.What, t.Stage), t.Tuned, why))
}

// Tuned returns a model with one change, for trying it out.
func Tuned(cat *catalog.Catalogue, t Tuning) (*catalog.Model, error) {
	v := Apply(cat, "a trial", []Tuning{t})
	if len(v.Notes) > 0 {
		return nil, fmt.Errorf("tune: %s", v.Notes[0])
	}
	m, ok := v.Model(t.Model)
	if !ok {
		return nil, fmt.Errorf("tune: no model %s", t.Model)
	}
	return m, nil
}
