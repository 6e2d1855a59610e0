package plan

import (
	"plotwarden/civil"
	"plotwarden/risk"
)

// lookPlants is the weekly walk; a bed with fewer plants is looked over whole.
const lookPlants = 10

var (
	lookSource = risk.Source{Text: "common practice: a weekly walk of 10 plants; log a look that found none as well", Standing: risk.CommonPractice}
	// Twice a week while it is due: Ontario scouting guide, "at least weekly,
	// twice weekly at critical stages; edges and interior apart; under leaves".
	lookOften = risk.Source{Text: "Ontario: scout at least weekly, twice weekly at critical stages, edges and inside apart, under leaves; 10 plants: common practice", Standing: risk.Confirmed}
)

func lookText(where, look string) []Said {
	out := []Said{said("Look at %s plants, half at the edge, half in the middle (all of them if you have fewer), and under the leaves.", digits(lookPlants))}
	if where != "" {
		out = append(out, said("Where: %s.", term(where)))
	}
	if look != "" {
		out = append(out, said("For: %s.", term(look)))
	}
	return append(out, said("Log it, found or none."))
}

// looks dates the scouting: weekly from the start of prevention, twice a week
// from the early to the late date, weekly again for as long as it lasts.
func (w *windows) looks() {
	p := w.plan
	text := lookText(w.Threat.Where, w.Threat.Look)
	if p.Early.IsZero() {
		w.add(Step{Kind: Scout, Text: inEnglish(text), Said: text, From: w.Today, By: w.Today.AddDays(7), EveryDays: 7, Plants: lookPlants, Source: lookSource})
		w.ownLooks()
		return
	}
	late := p.Late
	if late.IsZero() {
		late = max(p.Likely, p.Early)
	}
	from := max(p.Start, w.Today)
	if from < p.Early {
		w.add(Step{Kind: Scout, Text: inEnglish(text), Said: text, From: from, By: from.AddDays(7), EveryDays: 7, Plants: lookPlants,
			Dates: repeat(from, p.Early.AddDays(-1), 7), Source: lookSource})
	}
	if from := max(p.Early, w.Today); from <= late.AddDays(w.r.LastingDays) {
		if from > w.Today {
			text = []Said{said("The same look more often.")}
		}
		w.add(Step{Kind: Scout, Text: inEnglish(text), Said: text, From: from, By: max(from, w.Today).AddDays(4), EveryDays: 4, Plants: lookPlants,
			When: "twice a week while it is due", Dates: repeat(from, late.AddDays(w.r.LastingDays), 4), Source: lookOften})
	} else {
		w.add(Step{Kind: Scout, Text: inEnglish(text), Said: text, From: w.Today, By: w.Today.AddDays(7), EveryDays: 7, Plants: lookPlants,
			Dates: repeat(w.Today, w.Today.AddDays(w.r.LastingDays), 7), Source: lookSource})
	}
	w.ownLooks()
}

// ownLooks are what the catalogue says of looking for this threat.
func (w *windows) ownLooks() {
	for _, a := range w.Threat.Cultural {
		if StepKind(a.Kind) == Scout {
			w.add(Step{Kind: Scout, Text: a.Text, From: a.Due(max(w.plan.Start, w.Today), w.Season), Source: a.Source})
		}
	}
}

// onDate returns the step's next day on or after d, and whether it has one.
func (s *Step) onDate(d civil.Date) (civil.Date, bool) {
	for _, x := range s.Dates {
		if x >= d {
			return x, true
		}
	}
	return 0, false
}
