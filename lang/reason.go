package lang

import (
	"fmt"
	"strings"
	"time"

	"plotwarden/civil"
	"plotwarden/plan"
)

// Reason writes a reason from its parts in the reader's language and units. One
// that an older version stored without parts, or a sentence that the language
// lacks, comes out in English, marked as Foreign marks it.
func (v Voice) Reason(r plan.Reason) string { return v.Sentences(r.Said, r.Text) }

// Sentences writes sentences from their parts; text is the English of all of
// them, for where there are no parts or the language lacks one.
func (v Voice) Sentences(all []plan.Said, text string) string {
	if len(all) == 0 {
		return v.Foreign(text)
	}
	out := make([]string, len(all))
	for i := range all {
		s, ok := v.said(&all[i])
		if !ok {
			return v.Foreign(text)
		}
		out[i] = v.Upper(s)
	}
	return strings.Join(out, " ")
}

// Step writes what a step says to do.
func (v Voice) Step(s plan.Step) string { return v.Sentences(s.Said, v.Sentence(s.Text)) }

// When writes what a step waits for; empty: nothing.
func (v Voice) When(s plan.Step) string {
	if len(s.WhenSaid) == 0 {
		return v.Foreign(s.When)
	}
	out := make([]string, len(s.WhenSaid))
	for i := range s.WhenSaid {
		text, ok := v.said(&s.WhenSaid[i])
		if !ok {
			return v.Foreign(s.When)
		}
		out[i] = text
	}
	return strings.Join(out, ", ")
}

// Protection writes the state of a treatment.
func (v Voice) Protection(p plan.Protection) string { return v.Sentences(p.Said, p.Text) }

// NumberName writes what a number behind a reason is.
func (v Voice) NumberName(n plan.Number) string {
	if n.Said != nil {
		if s, ok := v.said(n.Said); ok {
			return s
		}
	}
	return v.Foreign(n.Name)
}

// said writes one sentence; ok is false where the language lacks it or a term in
// it that is a sentence of its own.
func (v Voice) said(s *plan.Said) (out string, ok bool) {
	if len(s.Args) == 0 {
		return v.term(s.Key)
	}
	if !v.Has(s.Key) {
		return "", false
	}
	args := make([]any, len(s.Args))
	for i := range s.Args {
		text, ok := v.arg(&s.Args[i])
		if !ok {
			return "", false
		}
		args[i] = text
	}
	return v.T(s.Key, args...), true
}

func (v Voice) arg(a *plan.Arg) (string, bool) {
	switch a.Kind {
	case plan.ArgDay:
		return v.Date(a.Day, a.Day), true
	case plan.ArgMoment:
		at := a.Day.Start(time.UTC).Add(time.Duration(a.Minute) * time.Minute)
		return v.Date(a.Day, a.Day) + " " + v.Clock(at, time.UTC), true
	case plan.ArgNumber:
		return plan.Digits(a.Value), true
	case plan.ArgFigure:
		return v.Amount(a.Value, a.Unit), true
	case plan.ArgCount:
		return v.Count(int(a.Value), a.Text), true
	case plan.ArgTerm:
		return v.inline(a.Text), true
	case plan.ArgSaid:
		if a.Said == nil {
			return "", true
		}
		return v.said(a.Said)
	case plan.ArgList:
		out := make([]string, len(a.List))
		for i := range a.List {
			s, ok := v.arg(&a.List[i])
			if !ok {
				return "", false
			}
			out[i] = s
		}
		return strings.Join(out, ", "), true
	}
	return a.Text, true
}

// inline writes a term within a sentence; one that the language lacks is quoted,
// so that it reads as the foreign word it is.
func (v Voice) inline(s string) string {
	if t, ok := v.term(s); ok {
		return t
	}
	return "«" + s + "»"
}

// Amount writes a figure of a sentence with its unit, without digits that mean
// nothing. Units of weather are turned into the reader's.
func (v Voice) Amount(x float64, unit string) string {
	if v.US {
		switch unit {
		case "mm", "C", "m/s":
			return v.Style.Figure(x, unit)
		}
	}
	return strings.TrimSpace(plan.Digits(x) + " " + v.Term(unit))
}

// Figure writes a measured figure with its unit, as say.Style.Figure does.
func (v Voice) Figure(x float64, unit string) string {
	switch unit {
	case "C", "mm", "m/s", "%", "", "1":
		return v.Style.Figure(x, unit)
	}
	return v.Style.Figure(x, v.Term(unit))
}

// Basis writes what an outlook rests on: "16 forecast days, then 30 past years
// run forward".
func (v Voice) Basis(s string) string {
	if v.IsEnglish() {
		return s
	}
	for _, p := range basisForms {
		if m := p.form.FindStringSubmatch(s); m != nil {
			args := make([]any, len(m)-1)
			for i := range args {
				args[i] = m[i+1]
			}
			if p.inner > 0 {
				args[p.inner-1] = v.Basis(m[p.inner])
			}
			return fmt.Sprintf(p.es, args...)
		}
	}
	return v.Foreign(s)
}

// WithoutYear writes a day as sentences do.
func (v Voice) WithoutYear(d civil.Date) string { return v.Date(d, d) }
