package catalog

import (
	"regexp"
	"slices"
	"strings"

	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/model"
	"plotwarden/strict"
)

var (
	idForm   = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)
	eppoForm = regexp.MustCompile(`^[A-Z]{6}$`)
	yearForm = regexp.MustCompile(`\b(1[89]|20)\d\d\b`)
	// rateForm finds an amount per area or volume, or a spoon: what only a label may give.
	rateForm = regexp.MustCompile(`(?i)\d\s*(g|ml|oz|lb|kg|grams?|ounces?|pounds?|teaspoons?|tablespoons?|tsp|tbsp|tablets?)\b`)
	sureForm = regexp.MustCompile(`(?i)\byou have\b`)
)

// checker collects what is wrong in one file.
type checker struct {
	w      *strict.Where
	faults strict.Faults
}

func (c *checker) fault(at any, format string, args ...any) {
	c.faults = append(c.faults, c.w.Fault(at, format, args...))
}

// text requires words and refuses a diagnosis in them. parent gives the place
// when the key is not written.
func (c *checker) text(s *string, parent any, key string) {
	switch {
	case strings.TrimSpace(*s) == "" && c.w.Has(s):
		c.fault(s, "%s is empty", key)
	case strings.TrimSpace(*s) == "":
		c.fault(parent, "%s is missing", key)
	case sureForm.MatchString(*s):
		c.fault(s, `%s says "you have"; a forecast says "conditions favour"`, key)
	}
}

// phrase is a text that screens put into a sentence of their own.
func (c *checker) phrase(s *string, parent any, key string) {
	c.text(s, parent, key)
	if strings.HasSuffix(strings.TrimSpace(*s), ".") {
		c.fault(s, "%s ends with a full stop; leave it out, screens put the words into a sentence", key)
	}
}

// source requires both halves of a source.
func (c *checker) source(s *risk.Source, parent any, of string) {
	if !c.w.Has(s) {
		c.fault(parent, "%s has no source; say source: {text: ..., standing: ...}", of)
		return
	}
	c.text(&s.Text, s, "text of the source")
	if s.Standing == risk.Unstated && !c.w.Has(&s.Standing) {
		c.fault(s, "the source of %s has no standing; say confirmed, confirmed second-hand, derived, from memory or common practice", of)
	}
}

func (c *checker) threat(id string, f *threatFile) {
	if !idForm.MatchString(id) {
		c.fault(nil, "the file name %q is the threat's id; use lower-case words joined by -, as in imported-cabbageworm.yaml", id)
	}
	c.text(&f.Name, f, "name")
	c.text(&f.Latin, f, "latin")
	if f.EPPO != "" && !eppoForm.MatchString(f.EPPO) {
		c.fault(&f.EPPO, "eppo %q is not a code of six capital letters; leave the key out where the code is not certain", f.EPPO)
	}
	if f.Class == "" && !c.w.Has(&f.Class) {
		c.fault(f, "class is missing; say insect, mite or disease")
	}
	c.crops(f)
	c.phrase(&f.Look, f, "look")
	c.phrase(&f.Where, f, "where")
	c.text(&f.Season, f, "season")
	c.source(&f.Source, f, "the threat (of look, where and season)")
	if len(f.Cultural) == 0 {
		c.fault(f, "cultural has no step; every threat has at least one thing to do without a spray")
	}
	for i := range f.Cultural {
		a := &f.Cultural[i]
		if !c.w.Has(&a.Kind) {
			c.fault(a, "kind is missing; say one of: %s", strings.Join(AdviceKinds(), ", "))
		} else if !slices.Contains(AdviceKinds(), a.Kind) {
			c.fault(&a.Kind, "%s", strict.Unknown("kind of step", a.Kind, AdviceKinds()))
		}
		c.text(&a.Text, a, "text")
		c.rate(&a.Text)
		c.source(&a.Source, a, "this step")
	}
	for i := range f.Materials {
		m := &f.Materials[i]
		c.text(&m.Ingredient, m, "ingredient")
		c.text(&m.Text, m, "text")
		c.rate(&m.Text)
		c.source(&m.Source, m, "this material")
	}
	for i := range f.Threshold {
		a := &f.Threshold[i]
		c.text(&a.Crop, a, "crop")
		c.text(&a.Measure, a, "measure")
		c.text(&a.Value, a, "value")
		c.source(&a.Source, a, "this action threshold")
	}
	switch {
	case len(f.Models) == 0 && strings.TrimSpace(f.LogOnly) == "":
		c.fault(f, "the threat has no models; say in log_only why the grower's log alone drives it")
	case len(f.Models) > 0 && c.w.Has(&f.LogOnly):
		c.fault(&f.LogOnly, "log_only is for a threat without models, and this one has %d", len(f.Models))
	}
}

func (c *checker) crops(f *threatFile) {
	if len(f.Crops) == 0 {
		c.fault(f, "crops is missing; name at least one crop")
	}
	seen := map[string]bool{}
	for i := range f.Crops {
		crop := &f.Crops[i]
		known, ok := garden.CropByID(*crop)
		switch {
		case !ok:
			c.fault(crop, "%s", strict.Unknown("crop", *crop, garden.CropIDs()))
		case seen[known.ID]:
			c.fault(crop, "crop %q stands twice", *crop)
		case known.ID != *crop:
			c.fault(crop, "crop %q is written %q", *crop, known.ID)
		}
		seen[known.ID] = true
	}
}

func (c *checker) rate(s *string) {
	if r := rateForm.FindString(*s); r != "" {
		c.fault(s, "%q is an amount to use; rates are the label's and do not stand in the catalogue", r)
	}
}

// notes checks the lists that a threat and an extension of one share.
func (c *checker) notes(f *threatFile) {
	for i := range f.Disagree {
		c.source(&f.Disagree[i], f, "this disagreement")
	}
	for i := range f.Unused {
		u := &f.Unused[i]
		c.text(&u.Text, u, "text")
		c.text(&u.Why, u, "why")
		c.source(&u.Source, u, "this number")
	}
}

// models checks and decodes the models. taken has ids that exist already.
func (c *checker) models(threat string, f *threatFile, migrant bool, taken map[string]string) []Model {
	var out []Model
	var first *modelFile // the default
	for i := range f.Models {
		m := &f.Models[i]
		c.model(m)
		id := threat + "/" + m.ID
		if where, dup := taken[id]; dup {
			c.fault(&m.ID, "model %q exists already%s; give the new one an id of its own", id, where)
		}
		taken[id] = " in this file"
		if m.Default && first != nil {
			c.fault(&m.Default, "a second default; %q is it already", first.ID)
		} else if m.Default {
			first = m
		}
		mod := m.model(threat)
		if slices.Contains(model.Kinds(), m.Kind) && !m.Spec.IsZero() {
			spec, faults := model.Decode(m.Kind, c.w.File, &m.Spec)
			c.faults = append(c.faults, at(faults, m, c.w)...)
			if spec != nil && len(faults) == 0 {
				mod.Spec, mod.written = spec, &m.Spec
				if migrant && spec.Start().Kind != model.FromCatch {
					c.fault(&m.Spec, "the threat is a migrant, so its models start from a catch, not from %s", spec.Start().Kind)
				}
			}
		}
		out = append(out, mod)
	}
	return out
}

func (c *checker) model(m *modelFile) {
	c.text(&m.ID, m, "id")
	if m.ID != "" && !idForm.MatchString(m.ID) {
		c.fault(&m.ID, "model id %q is not lower-case words joined by -, as in delahaut-2015", m.ID)
	}
	c.text(&m.Title, m, "title")
	if m.Title != "" && !yearForm.MatchString(m.Title) {
		c.fault(&m.Title, "title %q has no year; models are named by threat, author and year", m.Title)
	}
	c.source(&m.Source, m, "the model (of all its numbers)")
	c.text(&m.Validated, m, "validated (a region and years, or: not stated)")
	for i := range m.Notes {
		c.text(&m.Notes[i], m, "note")
	}
	for i := range m.Parts {
		c.text(&m.Parts[i].What, &m.Parts[i], "what")
		c.source(&m.Parts[i].Source, &m.Parts[i], "this part")
	}
	switch {
	case m.Kind == "":
		c.fault(m, "kind is missing; say one of: %s", strings.Join(model.Kinds(), ", "))
	case !slices.Contains(model.Kinds(), m.Kind):
		c.fault(&m.Kind, "%s", strict.Unknown("kind", m.Kind, model.Kinds()))
	}
	if m.Spec.IsZero() {
		c.fault(m, "spec is missing; it holds the numbers of the kind")
	}
}

// at gives faults without a line the place of the model.
func at(faults strict.Faults, m *modelFile, w *strict.Where) strict.Faults {
	for i, f := range faults {
		if f.Line == 0 {
			faults[i] = w.Fault(m, "%s", f.Message)
		}
	}
	return faults
}
