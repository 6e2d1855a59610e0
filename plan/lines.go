package plan

import (
	"fmt"
	"strings"
	"time"

	"plotwarden/civil"
)

// Line writes a step for print: its dates, what to do, and what it waits for.
// Sources are left to the pages.
func (s *Step) Line(today civil.Date) string {
	out := s.dates(today)
	if out != "" {
		out += ": "
	}
	out += s.Text
	if s.When != "" {
		out += " [" + upper(strings.TrimSuffix(s.When, ".")) + ".]"
	}
	if d, ok := s.onDate(max(today, s.From) + 1); ok && s.EveryDays > 0 {
		out += " Again on " + day(d) + "."
	}
	return out
}

func (s *Step) dates(today civil.Date) string {
	switch {
	case s.Kind == Wait:
		return ""
	case s.From == s.By && s.By > today:
		return "On " + day(s.By)
	case s.Kind == StopSpray && !s.By.IsZero():
		return fmt.Sprintf("Between %s and %s", day(s.From), day(s.By))
	case s.From > today && !s.By.IsZero():
		return fmt.Sprintf("From %s, by %s", day(s.From), day(s.By))
	case s.From > today:
		return "From " + day(s.From)
	case !s.Best.IsZero() && s.Best > today:
		return fmt.Sprintf("Now; best by %s, at the latest %s", day(s.Best), day(s.By))
	case s.By == today && !s.By.IsZero():
		return "Today"
	case !s.By.IsZero():
		return "By " + day(s.By)
	case s.From == today:
		return "Now"
	}
	return ""
}

// Lines writes the season's work against one threat for print.
func (p *ActionPlan) Lines(today civil.Date) []string {
	var out []string
	if p.Missed != "" {
		out = append(out, p.Missed)
	} else if !p.Start.IsZero() {
		out = append(out, fmt.Sprintf("Prevention: from %s, begun by %s.", day(max(p.Start, today)), day(p.StartBy)))
	}
	for i := range p.Steps {
		out = append(out, fmt.Sprintf("%d. %s", i+1, p.Steps[i].Line(today)))
	}
	for _, t := range p.Thresholds {
		out = append(out, fmt.Sprintf("Published number: %s (%s; %s)", thresholdText(t), t.Source.Text, t.Source.Standing))
	}
	for i := range p.Next {
		out = append(out, "For the next planting: "+p.Next[i].Text)
	}
	for _, o := range p.HomeMixes {
		out = append(out, o.homeLine())
	}
	for _, c := range p.Cautions {
		out = append(out, "Mind: "+c)
	}
	return out
}

// homeLine tells what trials found of a home mix; it advises nothing.
func (o *Option) homeLine() string {
	parts := []string{fmt.Sprintf("Home mix, %s. Not advised here; what trials found:", o.Ingredient)}
	for _, e := range o.Evidence {
		parts = append(parts, fmt.Sprintf("[%s] %s", e.Result, e.Text))
	}
	if o.NotHere {
		parts = append(parts, "None of it on this crop.")
	}
	return strings.Join(parts, " ")
}

// Lines writes the coming week for print: the good hours of each day, and why a
// day has none.
func (w *SprayWeek) Lines(zone *time.Location) []string {
	head := "Hours for spraying"
	if w.Material != "" {
		head += " " + w.Material
	}
	out := []string{head}
	for i := 0; i < len(w.Hours); {
		d := civil.Of(w.Hours[i].From, zone)
		j := i
		for j < len(w.Hours) && civil.Of(w.Hours[j].From, zone) == d {
			j++
		}
		if i == 0 || j-i >= 12 { // the last morning is a part of a day
			out = append(out, "  "+d.Format("Mon 2 Jan")+": "+dayHours(w.Hours[i:j], zone))
		}
		i = j
	}
	if w.Instead != nil {
		out = append(out, w.Instead.Text)
	}
	out = append(out, w.Conflicts...)
	for _, c := range w.Cautions {
		out = append(out, "Mind: "+c)
	}
	return out
}

// dayHours says the good hours of a day and which of them are best, or what
// stands against it by day.
func dayHours(hours []SprayHour, zone *time.Location) string {
	good := spans(hours, zone, func(h *SprayHour) bool { return h.Good })
	best := spans(hours, zone, func(h *SprayHour) bool { return h.Good && len(h.Warn) == 0 })
	switch {
	case good == "":
		if why := commonest(hours); why != "" {
			return "none: " + why
		}
		return "none: dark"
	case best == good:
		return "good " + good
	case best != "":
		return fmt.Sprintf("good %s, best %s", good, best)
	}
	return fmt.Sprintf("good %s (%s)", good, mindWords(hours))
}

// spans joins the hours that pass into stretches of local time; empty when none
// does.
func spans(hours []SprayHour, zone *time.Location, pass func(*SprayHour) bool) string {
	var out []string
	for i := 0; i < len(hours); i++ {
		if !pass(&hours[i]) {
			continue
		}
		j := i
		for j < len(hours) && pass(&hours[j]) {
			j++
		}
		out = append(out, hours[i].From.In(zone).Format("15:04")+" to "+hours[j-1].To.In(zone).Format("15:04"))
		i = j
	}
	return strings.Join(out, ", ")
}

// mindWords says what to mind in the good hours of a day that has none better.
func mindWords(hours []SprayHour) string {
	var all []Objection
	for i := range hours {
		if hours[i].Good {
			all = append(all, hours[i].Warn...)
		}
	}
	var out []string
	for _, c := range codes(all) {
		words, ok := warnWords[c]
		if !ok {
			words = c
		}
		out = append(out, words)
	}
	return strings.Join(out, "; ")
}

var warnWords = map[string]string{
	"calm":           "hardly any wind",
	"stop when calm": "stop when the wind drops",
	"wind":           "fresh wind",
	"maybe rain":     "it may rain afterwards",
	"dew":            "dew may come before it is dry",
	"bees":           "keep off open flowers",
	"hot later":      "heat to come",
	"hot":            "hot for this material",
	"delta-T":        "dries too slowly or too fast",
}
