// Package season has the work of the year that no single threat calls for: when
// to set out and to sow, frost nights, rotation, water and the clean-up at the
// end. It is pure: days, logs and the date come in as arguments.
package season

import (
	"strconv"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
)

// Task is one piece of work in one bed.
type Task struct {
	Plot     string `json:"plot,omitempty"`     // id; empty: the whole ground
	Planting string `json:"planting,omitempty"` // id
	plan.Step
}

// Line writes the work for print, with its bed.
func (t *Task) Line(site *garden.Site, today civil.Date) string {
	line := t.Step.Line(today)
	switch names := beds(site, []string{t.Planting}); {
	case t.Planting != "" && len(names) > 0:
		return names[0] + ": " + line
	case t.Plot != "":
		return plotName(site, t.Plot) + ": " + line
	}
	return line
}

func plotName(site *garden.Site, id string) string {
	for i := range site.Plots {
		if p := &site.Plots[i]; p.ID == id && p.Name != "" {
			return p.Name
		}
	}
	return id
}

func day(d civil.Date) string { return d.Format("Mon 2 Jan") }

func number(x float64) string {
	if x >= 10 || x <= -10 {
		return strconv.FormatFloat(x, 'f', 0, 64)
	}
	s := strconv.FormatFloat(x, 'f', 1, 64)
	if s == "-0.0" || s == "0.0" {
		return "0"
	}
	if len(s) > 2 && s[len(s)-2:] == ".0" {
		return s[:len(s)-2]
	}
	return s
}

func cropName(id string) string {
	if c, ok := garden.CropByID(id); ok {
		return c.Name
	}
	return id
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}
