package say

import (
	"fmt"
	"math"

	"plotwarden/civil"
	"plotwarden/risk"
)

// Chance writes a probability from 0 to 1 as a count of cases, the form that
// people read most surely: "about 6 in 10". NaN is "unknown". The ends are never
// "none" or "certain": a count of model runs does not hold that much.
func Chance(p float64) string {
	switch {
	case math.IsNaN(p):
		return "unknown"
	case p < 0.025:
		return "less than 1 in 40"
	case p < 0.075:
		return "about 1 in 20"
	case p > 0.975:
		return "more than 39 in 40"
	case p > 0.925:
		return "about 19 in 20"
	}
	return fmt.Sprintf("about %d in 10", int(math.Round(p*10)))
}

// Sure writes when an event is expected and how sure that is. It has no full
// stop. A nil outlook is "no date can be given".
func (s Style) Sure(o *risk.Outlook, today civil.Date) string {
	if o == nil {
		return "no date can be given"
	}
	out := s.sure(o, today)
	if o.Rough {
		out += " (rough: few runs behind it)"
	}
	return out
}

func (s Style) sure(o *risk.Outlook, today civil.Date) string {
	date := func(d civil.Date) string { return s.Date(d, today) }
	switch {
	case !o.Reached.IsZero():
		return "reached on " + date(o.Reached)
	case o.P10.IsZero():
		return "not expected in the days looked at"
	case o.P50.IsZero():
		return fmt.Sprintf("1 in 10 chance by %s, more likely later", date(o.P10))
	case o.P90.IsZero():
		return fmt.Sprintf("most likely around %s, 1 in 10 chance before %s, may come much later", date(o.P50), date(o.P10))
	case o.P10 == o.P90:
		return fmt.Sprintf("expected on %s if the forecast holds", date(o.P50))
	}
	return fmt.Sprintf("most likely %s, 8 in 10 chance between %s", date(o.P50), s.Between(o.P10, o.P90, today))
}

// Brief writes the same in the few words that fit beside a bar: "about 12 Jun,
// between 8 and 17 Jun".
func (s Style) Brief(o *risk.Outlook, today civil.Date) string {
	switch {
	case o == nil:
		return "no date"
	case !o.Reached.IsZero():
		return "since " + s.Date(o.Reached, today)
	case o.P10.IsZero():
		return "not expected"
	case o.P50.IsZero():
		return "from " + s.Date(o.P10, today) + " or later"
	case o.P90.IsZero():
		return "about " + s.Date(o.P50, today) + " or later"
	case o.P10 == o.P90:
		return "expected " + s.Date(o.P50, today)
	}
	return "about " + s.Date(o.P50, today) + " (" + s.Span(o.P10, o.P90, today) + ")"
}
