package catalog

import (
	"fmt"
	"time"

	"plotwarden/risk"
	"plotwarden/risk/model"
)

// Cite writes a source with its standing: "Delahaut 2015 (confirmed)".
func Cite(s risk.Source) string {
	if s.Text == "" {
		return s.Standing.String()
	}
	return fmt.Sprintf("%s (%s)", s.Text, s.Standing)
}

// StartWords says from when a rule counts: "from 1 January (from memory)".
func StartWords(s model.Start) string {
	var from string
	switch s.Kind {
	case model.FromCalendar:
		from = fmt.Sprintf("from %s, moved with the site's season", date(s.Day.Month, s.Day.Day))
	case model.FromInGround:
		from = "from the day the planting is in the ground"
	default:
		from = "from what the grower logs: " + s.Event
	}
	if s.Exclusive {
		from += ", the day after it being the first that counts"
	} else {
		from += ", that day included"
	}
	return fmt.Sprintf("%s (%s)", from, s.Standing)
}

func date(m time.Month, day int) string { return fmt.Sprintf("%d %s", day, m) }

// stageWords writes a stage with its number, range and limits.
func stageWords(s model.Stage) string {
	v := n(s.Value)
	if s.Through > 0 {
		v += "-" + n(s.Through)
	}
	text := v + " " + s.Name
	switch s.Spray {
	case model.FirstSpray:
		text += ", before the season's first spray"
	case model.NextSpray:
		text += ", after a spray"
	}
	if s.Note != "" {
		text += " (" + s.Note + ")"
	}
	return text
}
