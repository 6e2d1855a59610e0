package plan

import (
	"strings"

	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
)

var sprayPractice = risk.Source{Text: "common practice; which materials: see each", Standing: risk.CommonPractice}

// sprayLine goes with every spray that is named; LabelCaution says what it means.
const sprayLine = "Dry leaves, a light wind, no bees at work. The label is the law. First use: a few leaves, then wait 48 hours."

// sprays offers what may be used, before it comes and on what is there apart,
// and says when to stop.
func (w *windows) sprays() {
	var before, there []Option
	for _, o := range Options(w.Threat, w.Planting.Crop, w.Own) {
		switch {
		case o.Home:
			w.plan.HomeMixes = append(w.plan.HomeMixes, o)
			continue
		case o.Acts == Curative:
			there = append(there, o)
		case o.Acts == Both:
			before, there = append(before, o), append(there, o)
		case o.Acts == Preventive:
			before = append(before, o)
		}
	}
	if named(before, there, garden.KindSulfur) && named(before, there, garden.KindOil) {
		w.plan.Cautions = append(w.plan.Cautions, oilSulfurCaution)
	}
	if len(before) > 0 || len(there) == 0 {
		w.add(w.before(before))
	}
	if len(there) > 0 {
		w.add(w.onFind(there))
	}
	if len(before)+len(there) > 0 {
		w.stop()
	}
}

// oilSulfurCaution: UC IPM, confirmed; see oilSulfurSource.
const oilSulfurCaution = "An oil and sulfur burn leaves together: at least 14 days apart, whichever came first, and neither near or above 32 C (90 F)."

// named says whether the options hold a material of a kind.
func named(before, there []Option, kind garden.MaterialKind) bool {
	for _, o := range append(append([]Option{}, before...), there...) {
		if in := IngredientOf(o.Ingredient); in != nil && in.Kind == kind {
			return true
		}
	}
	return false
}

func (w *windows) before(os []Option) Step {
	s := Step{Kind: Spray, Options: os, Source: sprayPractice}
	s.tell(w.sprayText("If you spray before it comes: %s.", os)...)
	switch p := w.plan; {
	case w.Here:
		s.From = w.Today
		s.tell(w.sprayText("If you spray to protect clean leaves: %s.", os)...)
	case p.Early > w.Today:
		s.From, s.By = max(p.StartBy, w.Today), p.Early
	case p.Early.IsZero():
		s.wait(said("only once dates or forecast call for it"))
	default:
		s.From = w.Today
	}
	return s
}

func (w *windows) onFind(os []Option) Step {
	s := Step{Kind: Spray, Options: os, Source: sprayPractice}
	s.tell(w.sprayText("If you spray what is there: %s.", os)...)
	var when []Said
	if w.Here {
		s.From = w.Today
	} else {
		when = append(when, said("once you find it"))
	}
	if t := w.plan.Thresholds; len(t) > 0 {
		when = append(when, said("from the published number on: %s", term(thresholdShort(t[0]))))
		s.Source = t[0].Source
	}
	s.wait(when...)
	return s
}

func (w *windows) sprayText(lead string, os []Option) []Said {
	names := make([]Arg, len(os))
	for i, o := range os {
		names[i] = term(o.Ingredient)
		if len(o.Own) > 0 {
			names[i] = within(said("%s (you have: %s)", term(o.Ingredient), given(strings.Join(o.Own, ", "))))
		}
	}
	first := said(lead, Arg{Kind: ArgList, List: names})
	if len(names) == 0 {
		first = said("If you spray: no material is listed here against this pest; ask your extension service.")
		if w.Threat.Class == catalog.Disease {
			first = said("If you spray: no material is listed here against this disease; ask your extension service.")
		}
	}
	return []Said{first, said(sprayLine)}
}

// stop says when spraying may end before the last pick.
func (w *windows) stop() {
	for _, st := range known().Stops {
		for _, id := range st.Threats {
			if id != w.Threat.ID {
				continue
			}
			s := Step{Kind: StopSpray, Text: st.Text, Source: st.Source}
			if w.LastPick.IsZero() {
				s.wait(said("%s to %s weeks before your last pick", digits(float64(st.To/7)), digits(float64(st.From/7))))
			} else {
				s.From, s.By = w.LastPick.AddDays(-st.From), w.LastPick.AddDays(-st.To)
			}
			w.add(s)
		}
	}
}
