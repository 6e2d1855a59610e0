package report

import (
	"fmt"
	"math"

	"plotwarden/civil"
)

// Notes say what the numbers are and are not; they go with every form of the
// report.
func (r *Report) Notes() []string {
	return []string{
		fmt.Sprintf("The calendar is a spray every %d days from the first to the last day of each planting in its bed: the most that a fixed calendar would make. Fewer sprays are not better where disease got worse; read both.", r.Days),
		"A find brackets the arrival: it came after the last look that found none and by the first that found it. A treatment before the find may have put it off.",
		"How a planting looked after a spray is not proof of what the spray did.",
	}
}

// Lines returns the report in plain lines for print.
func (r *Report) Lines() []string {
	out := []string{
		fmt.Sprintf("%s, season %s to %s %d", r.Name, date(r.First), date(r.Last), r.Last.Year()),
		fmt.Sprintf("Sprays: %d; a %d-day calendar would have made %d.%s", r.Ground.Sprays, r.Days, r.Ground.Calendar, reasons(r.Ground)),
		fmt.Sprintf("Threats found: %d with a warning before, %d without. Warnings without a find: %d, and %d where nobody looked. Looks logged: %d.",
			r.Ground.Warned, r.Ground.Surprised, r.Ground.Alarms, r.Ground.Unseen, r.Ground.Looks),
	}
	for _, plot := range r.Plots {
		out = append(out, "", plot.Name)
		for _, p := range plot.Plantings {
			name := p.Crop
			if p.Cultivar != "" {
				name += ", " + p.Cultivar
			}
			out = append(out, fmt.Sprintf("  %s, %s to %s: %s, calendar %d.", name, date(p.From), date(p.To), count(p.Totals.Sprays, "spray"), p.Totals.Calendar))
			for _, t := range p.Threats {
				out = append(out, "    "+t.line())
			}
		}
	}
	if len(r.Material) > 0 {
		out = append(out, "", "How plantings looked after each material")
		for _, m := range r.Material {
			out = append(out, fmt.Sprintf("  %s: used %s; better %d, same %d, worse %d, leaves harmed %d, not looked %d.", m.Name, times(m.Uses), m.Better, m.Same, m.Worse, m.Harmed, m.NotLooked))
		}
	}
	out = append(out, "")
	return append(out, r.Notes()...)
}

func (t *Threat) line() string {
	out := t.Name + ": " + string(t.Outcome)
	switch {
	case !t.Found.IsZero() && !t.NotBefore.IsZero():
		out += fmt.Sprintf("; it came between %s and %s", date(t.NotBefore+1), date(t.Found))
	case !t.Found.IsZero():
		out += fmt.Sprintf("; it came by %s, nobody had looked before", date(t.Found))
	}
	if !t.Found.IsZero() && !t.Warned.IsZero() {
		out += fmt.Sprintf("; first warning %s, %s before the find", date(t.Warned), count(t.WarnDays, "day"))
	} else if !t.Warned.IsZero() {
		out += "; first warning " + date(t.Warned)
	}
	if !t.Treated.IsZero() {
		out += "; first treated " + date(t.Treated)
	}
	for _, f := range t.Forecasts {
		if f.Off != nil {
			out += fmt.Sprintf("; %d days ahead the median was %s", f.Lead, off(*f.Off))
			break
		}
	}
	if t.BlindDays > 0 {
		out += fmt.Sprintf("; blind on %s", count(t.BlindDays, "day"))
	}
	return out + "."
}

func off(n int) string {
	switch {
	case n == 0:
		return "within those days"
	case n < 0:
		return fmt.Sprintf("%s early", count(int(math.Abs(float64(n))), "day"))
	}
	return fmt.Sprintf("%s late", count(n, "day"))
}

func reasons(t Totals) string {
	if t.Sprays == 0 {
		return ""
	}
	return fmt.Sprintf(" Reasons logged: model %d, scouting %d, calendar %d, none %d.", t.ByModel, t.ByScouting, t.ByCalendar, t.NoReason)
}

func count(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

func date(d civil.Date) string { return d.Format("2 Jan") }
