package alerts

import (
	"fmt"
	"math"

	"plotwarden/plan"
	"plotwarden/web/say"
)

// What makes a notice new again: a likely date that moved by more than
// movedDays, a chance within 14 days that changed by movedChance or more, and a
// last day that is at hand. Common practice: less is noise that people learn to
// skip.
const (
	movedDays   = 3
	movedChance = 0.2
	atHandDays  = 1
)

// change says what is new in an assessment; the empty text says nothing is.
type change struct {
	text  string
	first bool // there is nothing to compare with: the first message
}

func (c change) isNews() bool { return c.first || c.text != "" }

func (in *Input) changeOf(a *plan.Assessment) change {
	if in.Told == nil {
		return change{first: true}
	}
	before, ok := in.Told.Entries[toldKey(a)]
	if !ok {
		return change{text: "New."}
	}
	if text := in.since(a, before); text != "" {
		return change{text: text}
	}
	if a.Readiness > plan.Approaching {
		return change{}
	}
	if by := deadline(a.Steps); !by.IsZero() && by >= in.today() && by.Sub(in.today()) <= atHandDays {
		return change{text: "The last day for it is " + in.style().Day(by, in.today()) + "."}
	}
	return change{}
}

// since says what changed since an entry was told; empty when nothing that
// counts did.
func (in *Input) since(a *plan.Assessment, before Entry) string {
	if before.Readiness != a.Readiness {
		switch before.Readiness {
		case plan.Quiet:
			return "New: nothing was expected before."
		case plan.Blind:
			return "New: nothing could be said before."
		}
		return "Changed: it was " + before.Readiness.String() + " before."
	}
	if a.Readiness > plan.Approaching {
		return ""
	}
	if before.Code != a.Reason.Code {
		return "Changed: there is another reason now."
	}
	return in.moved(entryOf(a), before)
}

func (in *Input) moved(now, before Entry) string {
	if !now.Dated || !before.Dated {
		return ""
	}
	p, q := now.P50, before.P50
	switch {
	case p.IsZero() && !q.IsZero():
		return "Changed: the likely date lies beyond the days looked at now; it was " + in.style().Date(q, in.today()) + "."
	case !p.IsZero() && q.IsZero():
		return "Changed: there is a likely date now."
	case p.Sub(q) > movedDays:
		return fmt.Sprintf("Changed: %s later than told before (%s).", say.Count(p.Sub(q), "day"), in.style().Date(q, in.today()))
	case q.Sub(p) > movedDays:
		return fmt.Sprintf("Changed: %s sooner than told before (%s).", say.Count(q.Sub(p), "day"), in.style().Date(q, in.today()))
	case math.Abs(now.Chance-before.Chance) >= movedChance:
		return fmt.Sprintf("Changed: the chance within 14 days went from %s to %s.", say.Chance(before.Chance), say.Chance(now.Chance))
	}
	return ""
}

// gone lists what the person was told to expect and is no longer expected.
func (in *Input) gone(items []item) []string {
	if in.Told == nil {
		return nil
	}
	var out []string
	for _, it := range items {
		was := in.Told.Entries[toldKey(&it.Assessment)].Readiness
		if was == 0 || was > plan.Approaching || it.Readiness != plan.Quiet && it.Readiness != plan.Protected {
			continue
		}
		out = append(out, fmt.Sprintf("%s, %s: was %s, now %s. %s", say.Upper(it.threat.Name), bedName(it.plot, it.planting), was, it.Readiness, say.Sentence(it.Reason.Text)))
	}
	return out
}
