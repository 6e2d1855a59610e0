package season

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/risk/planting"
	"plotwarden/weather"
)

// The lowest air temperatures of a night, C at 2 m, at which plants are in
// danger. On a clear calm night the ground is colder than the air, so that
// tender plants can be hurt with 2 C on the record (common practice). 28 F,
// -2.2 C, is the usual limit of a killing frost (from memory).
const (
	TenderNight  = 2.0
	FrostNight   = planting.Frost
	KillingNight = -2.2
)

var (
	tenderSource  = risk.Source{Text: "air at 2 m; on a clear calm night the ground is colder, and tender plants can be hurt with 2 C on the record", Standing: risk.CommonPractice}
	killingSource = risk.Source{Text: "28 F (-2.2 C) is the usual limit of a killing frost", Standing: risk.FromMemory}
)

// Night is one cold night ahead.
type Night struct {
	Date      civil.Date `json:"date"` // the morning on which it ends
	Min       float64    `json:"minC"`
	Forecast  bool       `json:"forecast"`
	Tender    []string   `json:"tender"` // ids of warm-season plantings in danger
	Hardy     []string   `json:"hardy"`  // ids of the others, at a killing frost
	Threshold float64    `json:"thresholdC"`
}

// FrostNights returns the nights from today on that endanger a planting of the
// site. Perennials are left to themselves.
func FrostNights(site *garden.Site, days []weather.Day, today civil.Date) []Night {
	var out []Night
	for i := range days {
		d := &days[i]
		if d.Date < today || math.IsNaN(d.Min) || d.Min > TenderNight {
			continue
		}
		n := Night{Date: d.Date, Min: d.Min, Forecast: !d.Kind.Observed(), Threshold: TenderNight}
		for j := range site.Plots {
			for k := range site.Plots[j].Plantings {
				p := &site.Plots[j].Plantings[k]
				c, ok := garden.CropByID(p.Crop)
				if !ok || c.Perennial || !p.GrowingOn(d.Date) && !p.GrowingOn(d.Date-1) {
					continue
				}
				switch {
				case c.Warm:
					n.Tender = append(n.Tender, p.ID)
				case d.Min <= KillingNight:
					n.Hardy = append(n.Hardy, p.ID)
				}
			}
		}
		if len(n.Tender)+len(n.Hardy) > 0 {
			out = append(out, n)
		}
	}
	return out
}

// FrostTasks turns cold nights into work: nights that follow each other and hurt
// the same plantings are one task, due on the first evening.
func FrostTasks(site *garden.Site, nights []Night) []Task {
	var out []Task
	for i := 0; i < len(nights); {
		j := i + 1
		for j < len(nights) && nights[j].Date == nights[j-1].Date+1 && slices.Equal(nights[j].Tender, nights[i].Tender) && slices.Equal(nights[j].Hardy, nights[i].Hardy) {
			j++
		}
		out = append(out, frostTask(site, nights[i:j]))
		i = j
	}
	return out
}

func frostTask(site *garden.Site, nights []Night) Task {
	words := make([]string, len(nights))
	source := tenderSource
	for i, n := range nights {
		words[i] = fmt.Sprintf("to %s %s C (%s)", day(n.Date), number(n.Min), frostWord(n.Min))
		if n.Min <= KillingNight {
			source = killingSource
		}
	}
	lead, each := "Night ", ""
	if len(nights) > 1 {
		lead, each = "Nights ", " each evening"
	}
	text := lead + strings.Join(words, ", ") + ". Before dusk" + each + " cover " +
		strings.Join(beds(site, append(append([]string{}, nights[0].Tender...), nights[0].Hardy...)), ", ") +
		": down to the ground, off the leaves. Water the soil by day, uncover in the morning, bring pots in, and set out nothing tender until it is over."
	return Task{Step: plan.Step{Kind: plan.Frost, Text: text, From: nights[0].Date - 1, By: nights[0].Date - 1, Source: source}}
}

func frostWord(low float64) string {
	switch {
	case low <= KillingNight:
		return "killing frost"
	case low <= FrostNight:
		return "frost"
	}
	return "tender leaves can be hurt"
}

// beds names plantings as people know them: "Bed 2 (tomato)".
func beds(site *garden.Site, ids []string) []string {
	out := make([]string, 0, len(ids))
	for _, id := range ids {
		plot, p := site.Find(id)
		if p == nil {
			continue
		}
		name := plot.Name
		if name == "" {
			name = plot.ID
		}
		out = append(out, fmt.Sprintf("%s (%s)", name, cropName(p.Crop)))
	}
	return out
}
