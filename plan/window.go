package plan

import (
	"fmt"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/weather"
)

// WindowInput is what the dated work against one threat is made from.
type WindowInput struct {
	Plot     *garden.Plot // its other plantings tell what stood there; may be nil
	Planting *garden.Planting
	Threat   *catalog.Threat
	Today    civil.Date
	Outlook  *risk.Outlook     // nil: no date can be given
	Days     []weather.Day     // this season's, for the soil; may be empty
	Own      []garden.Material // the grower's list
	LastPick civil.Date        // expected last harvest; zero: not known
	Season   civil.MonthDay    // the site's season start, for work of one time of the year; zero: 1 January
	// Here says that it was found, or that conditions have favoured it already:
	// what is sprayed is then on what is there, or for what is still clean.
	Here bool
}

// ActionPlan is the work against one threat to one planting over the season.
type ActionPlan struct {
	Planting string `json:"planting"`
	Threat   string `json:"threat"`
	// Early, Likely and Late are the outlook's dates, zero where it has none.
	Early  civil.Date `json:"early"`
	Likely civil.Date `json:"likely"`
	Late   civil.Date `json:"late"`
	// Start is the first day of prevention, and StartBy the day by which it
	// should have begun.
	Start   civil.Date `json:"start"`
	StartBy civil.Date `json:"startBy"`
	// Missed says what is left of the time for prevention once StartBy has
	// passed; empty before that.
	Missed string `json:"missed,omitempty"`
	// Steps are cultural work first, then looks, then what may be sprayed and
	// when to stop. Next are for the next planting.
	Steps      []Step                    `json:"steps"`
	Next       []Step                    `json:"next,omitempty"`
	Thresholds []catalog.ActionThreshold `json:"thresholds,omitempty"`
	HomeMixes  []Option                  `json:"homeMixes,omitempty"` // evidence only
	Cautions   []string                  `json:"cautions"`
}

// Windows dates the work against a threat. Prevention runs from
// r.ApproachingDays before the outlook's early date and should have begun
// r.ActDays before it: two to four weeks, common practice.
func Windows(in WindowInput, r Rules) ActionPlan {
	w := &windows{WindowInput: in, r: r}
	p := ActionPlan{Planting: in.Planting.ID, Threat: in.Threat.ID, Cautions: cautions(in.Threat)}
	if o := in.Outlook; o != nil {
		p.Early, p.Likely, p.Late = o.P10, o.P50, o.P90
		if !o.Reached.IsZero() {
			p.Early, p.Likely, p.Late = o.Reached, o.Reached, o.Reached
		}
	}
	if !p.Early.IsZero() {
		p.Start, p.StartBy = p.Early.AddDays(-r.ApproachingDays), p.Early.AddDays(-r.ActDays)
		if !in.Here {
			p.Missed = missed(in.Today, p.StartBy, p.Early)
		}
	}
	w.plan = &p
	p.Thresholds = Thresholds(in.Threat, in.Planting.Crop)
	w.cultural()
	w.looks()
	w.sprays()
	return p
}

func cautions(t *catalog.Threat) []string {
	out := []string{
		"Dates come from weather and models: they say when conditions favour it, not that it is there. What you find in the bed comes first.",
		LabelCaution,
	}
	if t.Class == catalog.Disease {
		return append(out, "What protects works only before infection; nothing that is sprayed heals a spotted leaf.")
	}
	return append(out, "Never on open flowers, weeds' flowers too.")
}

// missed says what is left of the time for prevention.
func missed(today, startBy, early civil.Date) string {
	switch {
	case today <= startBy:
		return ""
	case today < early:
		return fmt.Sprintf("Best begun by %s; %s left before the early date, %s. Start with the first step today: each one still helps.",
			day(startBy), count(early.Sub(today), "day is", "days are"), day(early))
	}
	return fmt.Sprintf("The time for prevention before the early date, %s, has passed. Look first; do today what still slows it.", day(early))
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

type windows struct {
	WindowInput
	r    Rules
	plan *ActionPlan
}

func (w *windows) add(s Step)  { w.plan.Steps = append(w.plan.Steps, s) }
func (w *windows) next(s Step) { w.plan.Next = append(w.plan.Next, s) }

// prevent gives a step the window of prevention: from its start or today, best
// begun two weeks before the early date, of use until that date. Once that has
// passed it has no last day; without a date it may be done any time.
func (w *windows) prevent(s Step) Step {
	p := w.plan
	if p.Early.IsZero() {
		return s // any time
	}
	s.From = max(p.Start, w.Today)
	if p.Early > w.Today {
		s.By = p.Early
		if p.StartBy >= w.Today {
			s.Best = p.StartBy
		}
	}
	return s
}

// repeat lists the days of a step from its first day, n days apart, up to and
// with until, 12 at the most.
func repeat(from, until civil.Date, n int) []civil.Date {
	var out []civil.Date
	for d := from; d <= until && len(out) < 12; d = d.AddDays(n) {
		out = append(out, d)
	}
	return out
}
