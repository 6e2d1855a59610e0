package plan

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk"
)

// cautions go with every table of spray hours.
func (j *sprayJudge) cautions() []string {
	out := []string{LabelCaution}
	if j.q.Bloom == "" {
		out = append(out, "You have not said whether anything is in flower there, weeds too. If something is, only the hour before sunset is left, and never on the open flowers.")
	}
	if m := j.q.Material; m == nil {
		out = append(out, "General limits: choose one of your own materials to have its label's limits used.")
	} else {
		if allowed, said := m.Allows(j.q.Crop); said && !allowed {
			out = append(out, fmt.Sprintf("Your label for %s, as you typed it, does not name this crop: do not use it here.", m.Label()))
		}
		if m.MaxTemp == nil || m.MaxWind == nil || m.DryingHours == 0 {
			out = append(out, fmt.Sprintf("Where you typed no limit from the label of %s the general ones stand in; the label may be stricter.", m.Label()))
		}
		if f := m.FollowUp; f != nil {
			out = append(out, "Comes with work afterwards: "+f.Text+".")
		}
	}
	return append(out, "The forecast is for open ground. Before you start, feel the wind where you stand.")
}

// SprayRun is a run of hours with one verdict.
type SprayRun struct {
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
	Good    bool      `json:"good"`
	Unknown bool      `json:"unknown,omitempty"`
	Why     []string  `json:"why,omitempty"`  // codes of what stands against it
	Warn    []string  `json:"warn,omitempty"` // codes of what to mind
}

// Runs joins hours that are judged alike.
func (w *SprayWeek) Runs() []SprayRun {
	var out []SprayRun
	for _, h := range w.Hours {
		r := SprayRun{From: h.From, To: h.To, Good: h.Good, Unknown: h.Unknown, Why: codes(h.Why), Warn: codes(h.Warn)}
		if n := len(out); n > 0 {
			if last := &out[n-1]; last.Good == r.Good && last.Unknown == r.Unknown && slices.Equal(last.Why, r.Why) && slices.Equal(last.Warn, r.Warn) {
				last.To = r.To
				continue
			}
		}
		out = append(out, r)
	}
	return out
}

func codes(os []Objection) []string {
	var out []string
	for _, o := range os {
		if !slices.Contains(out, o.Code) {
			out = append(out, o.Code)
		}
	}
	return out
}

// conflict is one hour of a day that only still air, or the label's hours, stands
// against, though it is what bees or heat leave over.
type conflict struct {
	first, last civil.Date
	hours, text string
}

func conflicts(hours []SprayHour, bloom garden.Bloom, zone *time.Location) []string {
	var found []conflict
	said := map[civil.Date]bool{}
	for i := range hours {
		h := &hours[i]
		d := civil.Of(h.From, zone)
		if said[d] || len(h.Why) == 0 || slices.ContainsFunc(h.Why, func(o Objection) bool { return o.Code != "inversion" && o.Code != "label hours" }) {
			continue
		}
		whom := reliefs(hours, d, h, bloom, zone)
		if whom == "" {
			continue
		}
		said[d] = true
		against := "still air under a clear sky makes an inversion likely, and the spray would drift to your neighbours"
		if h.Why[0].Code == "label hours" {
			against = "your label does not allow it so near to sunrise or sunset"
		}
		c := conflict{d, d, h.From.In(zone).Format("15:04") + " to " + h.To.In(zone).Format("15:04"),
			fmt.Sprintf("would suit %s, but %s. Leave it and wait for an hour with a light wind.", whom, against)}
		if n := len(found); n > 0 && found[n-1].last == d-1 && found[n-1].hours == c.hours && found[n-1].text == c.text {
			found[n-1].last = d
			continue
		}
		found = append(found, c)
	}
	out := make([]string, len(found))
	for i, c := range found {
		days := c.first.Format("Mon 2 Jan")
		if c.last > c.first {
			days += " to " + c.last.Format("Mon 2 Jan")
		}
		out[i] = fmt.Sprintf("%s, %s %s", days, c.hours, c.text)
	}
	return out
}

// reliefs says for whom an hour would be the right one: the bees, when flowers
// are open, or the leaves, when the rest of the day is too hot.
func reliefs(hours []SprayHour, d civil.Date, h *SprayHour, bloom garden.Bloom, zone *time.Location) string {
	if bloom == garden.OpenBloom && h.Evening {
		return "the bees"
	}
	hot, good := false, false
	for i := range hours {
		if civil.Of(hours[i].From, zone) == d {
			good = good || hours[i].Good
			hot = hot || slices.ContainsFunc(hours[i].Why, func(o Objection) bool { return o.Code == "hot" || o.Code == "delta-T" })
		}
	}
	if hot && !good {
		return "the leaves, which the heat would burn at other hours,"
	}
	return ""
}

// instead gives the cultural step when no hour fits within 48 hours.
func instead(q *SprayQuery, hours []SprayHour) Step {
	text := "No hour of the next 48 fits for spraying"
	why := commonest(hours)
	if why != "" {
		text += " (mostly: " + why + ")"
	}
	for _, s := range q.Work {
		if strings.Contains(why, "rain") || strings.Contains(why, "wet") {
			if needsDry(&s) {
				continue
			}
		}
		if s.Kind == Spray || s.Kind == Scout || s.Kind == TestSpray || s.Kind == StopSpray || s.Kind == OpenCover || strings.HasPrefix(s.When, "once ") {
			continue
		}
		s.Text = text + ". Do this instead: " + s.Text
		return s
	}
	return Step{Kind: Scout, From: civil.Of(q.Now, q.Site.Location()), Plants: lookPlants,
		Text:   text + ". Look the plants over, take off what is spotted or eaten once the leaves are dry, and water at the base.",
		Source: risk.Source{Text: "common practice", Standing: risk.CommonPractice}}
}

// needsDry says whether a step is one for dry leaves.
func needsDry(s *Step) bool {
	text := strings.ToLower(s.Text + " " + s.When)
	return s.Kind == Prune || strings.Contains(text, "dry day") || strings.Contains(text, "leaves are dry") || strings.Contains(text, "dry, sunny")
}

// commonest names the two things that stand most often against the next 48
// hours, night aside.
func commonest(hours []SprayHour) string {
	n := map[string]int{}
	for i := range hours[:min(len(hours), int(noWindow/time.Hour))] {
		cs := codes(hours[i].Why)
		if slices.Contains(cs, "dark") {
			continue
		}
		for _, c := range cs {
			n[c]++
		}
	}
	var all []string
	for c := range n {
		all = append(all, c)
	}
	slices.SortFunc(all, func(a, b string) int { return cmp.Or(n[b]-n[a], cmp.Compare(a, b)) })
	words := make([]string, 0, 2)
	for _, c := range all[:min(2, len(all))] {
		words = append(words, codeWords(c))
	}
	return strings.Join(words, ", ")
}

func codeWords(code string) string {
	switch code {
	case "delta-T":
		return "air too dry"
	case "hot":
		return "too hot"
	case "cold":
		return "too cold"
	case "damp":
		return "too damp"
	case "missing":
		return "weather missing"
	case "inversion":
		return "still air"
	case "bees":
		return "bees at open flowers"
	}
	return code
}
