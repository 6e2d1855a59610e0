package alerts

import (
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
		return change{text: in.voice().T("New.")}
	}
	if text := in.since(a, before); text != "" {
		return change{text: text}
	}
	if a.Readiness > plan.Approaching {
		return change{}
	}
	if by := deadline(a.Steps); !by.IsZero() && by >= in.today() && by.Sub(in.today()) <= atHandDays {
		return change{text: in.voice().T("The last day for it is %s.", in.voice().Day(by, in.today()))}
	}
	return change{}
}

// since says what changed since an entry was told; empty when nothing that
// counts did.
func (in *Input) since(a *plan.Assessment, before Entry) string {
	if before.Readiness != a.Readiness {
		switch before.Readiness {
		case plan.Quiet:
			return in.voice().T("New: nothing was expected before.")
		case plan.Blind:
			return in.voice().T("New: nothing could be said before.")
		}
		return in.voice().T("Changed: it was %s before.", in.voice().Ready(before.Readiness))
	}
	if a.Readiness > plan.Approaching {
		return ""
	}
	if before.Code != a.Reason.Code {
		return in.voice().T("Changed: there is another reason now.")
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
		return in.voice().T("Changed: the likely date lies beyond the days looked at now; it was %s.", in.voice().Date(q, in.today()))
	case !p.IsZero() && q.IsZero():
		return in.voice().T("Changed: there is a likely date now.")
	case p.Sub(q) > movedDays:
		return in.voice().T("Changed: %s later than told before (%s).", in.voice().Count(p.Sub(q), "day"), in.voice().Date(q, in.today()))
	case q.Sub(p) > movedDays:
		return in.voice().T("Changed: %s sooner than told before (%s).", in.voice().Count(q.Sub(p), "day"), in.voice().Date(q, in.today()))
	case math.Abs(now.Chance-before.Chance) >= movedChance:
		return in.voice().T("Changed: the chance within 14 days went from %s to %s.", in.voice().Chance(before.Chance), in.voice().Chance(now.Chance))
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
		out = append(out, in.voice().T("%s, %s: was %s, now %s. %s", in.threatName(it), in.bedName(it), in.voice().Ready(was), in.voice().Ready(it.Readiness), say.Sentence(in.voice().Reason(it.Reason))))
	}
	return out
}
