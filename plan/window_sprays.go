package plan

import (
	"fmt"
	"strings"

	"plotwarden/risk"
	"plotwarden/risk/catalog"
)

var sprayPractice = risk.Source{Text: "common practice; which materials: see each", Standing: risk.CommonPractice}

const beforeLead = "If you spray before it comes"

// testLine is offered with a first use.
const testLine = "First use: spray a few leaves and wait 48 hours."

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

func (w *windows) before(os []Option) Step {
	s := Step{Kind: Spray, Options: os, Source: sprayPractice, From: w.Today, Text: w.sprayText(beforeLead, os)}
	if p := w.plan; p.Early > w.Today {
		s.From, s.By = max(p.StartBy, w.Today), p.Early
	}
	return s
}

func (w *windows) onFind(os []Option) Step {
	s := Step{Kind: Spray, Options: os, Source: sprayPractice, From: w.Today, Text: w.sprayText("If you spray what is there", os)}
	s.When = "once you find it"
	if t := w.plan.Thresholds; len(t) > 0 {
		s.When = "once you find it at the published number. " + thresholdText(t[0])
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
	return fmt.Sprintf("%s: %s. In a dry hour with a light wind and no bees at work. %s %s", lead, strings.Join(names, ", "), LabelCaution, testLine)
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
