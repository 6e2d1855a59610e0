package view

import (
	"fmt"
	"slices"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/web/say"
)

// LogLine is one look or one treatment, without who did it.
type LogLine struct {
	Date, Text string
	at         civil.Date
}

// log returns what was seen and done about a threat in a planting, latest first.
func (in *In) log(it item) []LogLine {
	var out []LogLine
	for i := range in.Seen {
		s := &in.Seen[i]
		if s.Planting == it.Planting && s.Threat == it.Threat {
			out = append(out, LogLine{in.Style.Date(s.Date, in.today()), look(s), s.Date})
		}
	}
	for i := range in.Done {
		t := &in.Done[i]
		if t.Planting == it.Planting && slices.Contains(t.Threats, it.Threat) {
			d := civil.Of(t.At, in.loc())
			out = append(out, LogLine{in.Style.Date(d, in.today()), treated(t), d})
		}
	}
	slices.SortStableFunc(out, func(a, b LogLine) int { return int(b.at - a.at) })
	return out
}

func look(s *garden.Scouting) string {
	out := map[garden.Finding]string{garden.Found: "Found", garden.None: "Looked, found none", garden.Unsure: "Looked, not sure"}[s.Finding]
	if s.Stage != "" {
		out += ": " + s.Stage
	}
	if s.Plants > 0 {
		out += ", " + say.Count(s.Plants, "plant") + " looked at"
	}
	if s.Count != nil {
		out += fmt.Sprintf(", %d counted", *s.Count)
	}
	if s.Percent != nil {
		out += ", " + say.Number(*s.Percent) + " % affected"
	}
	return say.Sentence(out)
}

func treated(t *garden.Treatment) string {
	out := "Treated"
	switch {
	case t.Ingredient != "":
		out += " with " + t.Ingredient
	case t.Material != "":
		out += " with " + t.Material
	}
	if t.IntervalDays > 0 {
		out += fmt.Sprintf("; your label's interval: %s", say.Count(t.IntervalDays, "day"))
	}
	return say.Sentence(out)
}
