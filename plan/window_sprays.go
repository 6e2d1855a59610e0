package plan

import (
	"fmt"
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
	s := Step{Kind: Spray, Options: os, Source: sprayPractice, Text: w.sprayText("If you spray before it comes", os)}
	switch p := w.plan; {
	case w.Here:
		s.From, s.Text = w.Today, w.sprayText("If you spray to protect clean leaves", os)
	case p.Early > w.Today:
		s.From, s.By = max(p.StartBy, w.Today), p.Early
	case p.Early.IsZero():
		s.When = "only once dates or forecast call for it"
	default:
		s.From = w.Today
	}
	return s
}

func (w *windows) onFind(os []Option) Step {
	s := Step{Kind: Spray, Options: os, Source: sprayPractice, Text: w.sprayText("If you spray what is there", os), When: "once you find it"}
	if w.Here {
		s.From, s.When = w.Today, ""
	}
	if t := w.plan.Thresholds; len(t) > 0 {
		if s.When != "" {
			s.When += ", "
		}
		s.When += "from the published number on: " + thresholdShort(t[0])
		s.Source = t[0].Source
	}
	return s
}

func (w *windows) sprayText(lead string, os []Option) string {
	what := "disease"
	if w.Threat.Class != catalog.Disease {
		what = "pest"
	}
	names := make([]string, len(os))
	for i, o := range os {
		names[i] = o.Ingredient
		if len(o.Own) > 0 {
			names[i] += " (you have: " + strings.Join(o.Own, ", ") + ")"
		}
	}
	if len(names) == 0 {
		lead = "If you spray"
		names = []string{"no material is listed here against this " + what + "; ask your extension service"}
	}
	return fmt.Sprintf("%s: %s. %s", lead, strings.Join(names, ", "), sprayLine)
}

// stop says when spraying may end before the last pick.
func (w *windows) stop() {
	for _, st := range known().Stops {
		for _, id := range st.Threats {
			if id != w.Threat.ID {
				continue
			}
			s := Step{Kind: StopSpray, Text: st.Text, Source: st.Source, When: fmt.Sprintf("%d to %d weeks before your last pick", st.To/7, st.From/7)}
			if !w.LastPick.IsZero() {
				s.From, s.By, s.When = w.LastPick.AddDays(-st.From), w.LastPick.AddDays(-st.To), ""
			}
			w.add(s)
		}
	}
}
