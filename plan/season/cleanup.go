package season

import (
	"fmt"
	"slices"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
)

// cleanDays is within how many days a bed is cleared after its crop ended.
const cleanDays = 7

var cleanSource = risk.Source{Text: "UMass: bag and bin or bury deep, no compost; allotment and community-garden notices: cut and remove within days, neighbours share what is left standing", Standing: risk.Confirmed}

// Threats are what the clean-up asks of the catalogue; *catalog.Catalogue has it.
type Threats interface {
	ForCrop(crop string) []*catalog.Threat
}

// CleanUps returns the work at the end of each planting that was taken out in the
// last three weeks or that a killing frost ended, first for what was found in it
// this season.
func CleanUps(site *garden.Site, seen []garden.Scouting, threats Threats, killed, today civil.Date) []Task {
	var out []Task
	for i := range site.Plots {
		plot := &site.Plots[i]
		for j := range plot.Plantings {
			p := &plot.Plantings[j]
			end := ended(p, killed, today)
			if end.IsZero() || today.Sub(end) > 21 {
				continue
			}
			out = append(out, cleanUp(plot, p, end, seen, threats)...)
		}
	}
	return out
}

func ended(p *garden.Planting, killed, today civil.Date) civil.Date {
	switch {
	case !p.Removed.IsZero() && p.Removed <= today:
		return p.Removed
	case !killed.IsZero() && killed <= today && p.GrowingOn(killed):
		if c, ok := garden.CropByID(p.Crop); ok && c.Warm {
			return killed
		}
	}
	return 0
}

func cleanUp(plot *garden.Plot, p *garden.Planting, end civil.Date, seen []garden.Scouting, threats Threats) []Task {
	by := end.AddDays(cleanDays)
	task := func(kind plan.StepKind, text string, source risk.Source) Task {
		return Task{plot.ID, p.ID, plan.Step{Kind: kind, Text: text, From: end, By: by, Source: source}}
	}
	found := func(t *catalog.Threat) bool {
		return slices.ContainsFunc(seen, func(s garden.Scouting) bool {
			return s.Planting == p.ID && s.Threat == t.ID && s.Finding == garden.Found
		})
	}
	var out []Task
	var sick []string
	for _, t := range threats.ForCrop(p.Crop) {
		if !found(t) {
			continue
		}
		sick = append(sick, t.Name)
		for _, a := range t.Cultural {
			if a.Kind == string(plan.CleanUp) {
				out = append(out, task(plan.CleanUp, fmt.Sprintf("After %s: %s", t.Name, a.Text), a.Source))
			}
		}
	}
	text := fmt.Sprintf("Clear the %s: all of it out of the bed, fallen leaves and fruit with it.", cropName(p.Crop))
	if len(sick) > 0 {
		text += " What was sick goes into a bag and the bin, or is buried deep; not on the compost."
	} else {
		text += " Clean plants may go on the compost; what looks sick goes into a bag and the bin."
	}
	text += " Stakes, ties and traps out as well; wash them."
	out = append(out, task(plan.CleanUp, text, cleanSource))
	if c, ok := garden.CropByID(p.Crop); ok && !c.Perennial {
		if year, ok := FreeFrom(plot, c.Family, end); ok {
			out = append(out, Task{plot.ID, p.ID, plan.Step{Kind: plan.Rotate, When: "when you plan next year",
				Text: fmt.Sprintf("Nothing of the family of %s in this bed before %d.", cropName(p.Crop), year), Source: rotationSource(c.Family)}})
		}
	}
	return out
}

func rotationSource(family string) risk.Source {
	r, _ := garden.RotationOf(family)
	return risk.Source{Text: r.Source, Standing: standing(r.Standing)}
}
