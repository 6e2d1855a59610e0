package plan

import (
	"fmt"

	"plotwarden/risk"
	"plotwarden/risk/catalog"
)

// steps names the work for a decision, cultural work before sprays. Quiet and
// blind plantings get only the look that never goes wrong.
func steps(c *Case, r Rules, d decision) []Step {
	look := scout(c)
	switch d.readiness {
	case Blind:
		look.Text = "Look with your own eyes while the weather is missing. " + look.Text
		return []Step{look}
	case Quiet:
		return nil
	case Protected:
		return []Step{look}
	}
	var out []Step
	if d.readiness == Present || d.reason.Code == "stage-reached" || d.reason.Code == "infection-passed" {
		out = append(out, look)
		out = append(out, cultural(c, r, d)...)
	} else {
		out = append(out, cultural(c, r, d)...)
		out = append(out, look)
	}
	if d.readiness == Act || d.readiness == Present {
		out = append(out, spray(c))
	}
	return out
}

func scout(c *Case) Step {
	text := "Look at 10 plants, at the edge and in the middle."
	if c.Threat.Where != "" {
		text += " Where: " + c.Threat.Where + "."
	}
	if c.Threat.Look != "" {
		text += " For: " + c.Threat.Look + "."
	}
	return Step{Kind: Scout, Text: text, From: c.Today, By: c.Today.AddDays(7),
		Source: risk.Source{Text: "common practice: a weekly walk of 10 plants; log a look that found none as well", Standing: risk.CommonPractice}}
}

// cultural takes the catalogue's steps that still make sense for this planting.
// They should be done before the early date.
func cultural(c *Case, _ Rules, d decision) []Step {
	var out []Step
	for _, a := range c.Threat.Cultural {
		kind := StepKind(a.Kind)
		if kind == MulchBed && c.Planting.Mulch != "" && c.Planting.Mulch != "none" {
			continue // done
		}
		if kind == Rotate && c.Planting.GrowingOn(c.Today) {
			continue // too late for this planting
		}
		s := Step{Kind: kind, Text: a.Text, From: c.Today, Source: a.Source}
		if d.outlook != nil && d.outlook.P10 > c.Today {
			s.By = d.outlook.P10
		}
		out = append(out, s)
	}
	return out
}

func spray(c *Case) Step {
	what := "disease"
	if c.Threat.Class != catalog.Disease {
		what = "pest"
	}
	return Step{Kind: Spray, From: c.Today,
		Text:   fmt.Sprintf("If you spray: only a material whose label names this crop and this %s, at the label's rate, in a dry, calm hour without bees at work. The label is the law. First use: spray a few leaves and wait 48 hours.", what),
		Source: risk.Source{Text: "common practice", Standing: risk.CommonPractice}}
}
