package plan

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
)

// BedClock is when one bed may be entered and picked again, from the label
// values that the grower typed.
type BedClock struct {
	Plot     string `json:"plot"`     // id
	PlotName string `json:"plotName"` // as people say it
	Planting string `json:"planting"`
	Crop     string `json:"crop"` // as it stands in a sentence
	// ReEntry is the instant from which the bed may be entered; zero when it may
	// be now. UntilDry says that a label keeps people out until it has dried.
	ReEntry  time.Time `json:"reEntry,omitzero"`
	UntilDry bool      `json:"untilDry,omitempty"`
	// HarvestFrom is the first day of harvest; zero when it may be picked now.
	HarvestFrom civil.Date `json:"harvestFrom,omitempty"`
	// Unsaid are treatments whose label values were not typed: their clocks are
	// not known, and that is not the same as free.
	Unsaid []string `json:"unsaid,omitempty"`
	// Since is the last treatment that runs a clock here.
	Since    time.Time `json:"since"`
	Material string    `json:"material"`
}

// unsaidDays is for how long a treatment without typed label values is kept in
// sight. It is no interval of any label (common practice: a month).
const unsaidDays = 30

// untilDry is for how long "keep out until dry" is shown (common practice: the
// rest of the day).
const untilDry = 12 * time.Hour

// BedClocks returns the clocks that run at now, one a planting, in order of
// plots. records are those that stand (garden.Current).
func BedClocks(site *garden.Site, records []garden.Record, now time.Time) []BedClock {
	var out []BedClock
	for i := range site.Plots {
		plot := &site.Plots[i]
		for j := range plot.Plantings {
			p := &plot.Plantings[j]
			if c, ok := bedClock(site, plot, p, records, now); ok {
				out = append(out, c)
			}
		}
	}
	return out
}

func bedClock(site *garden.Site, plot *garden.Plot, p *garden.Planting, records []garden.Record, now time.Time) (BedClock, bool) {
	today := civil.Of(now, site.Location())
	c := BedClock{Plot: plot.ID, PlotName: cmp.Or(plot.Name, plot.ID), Planting: p.ID, Crop: p.Crop}
	if k, ok := garden.CropByID(p.Crop); ok {
		c.Crop = k.Name
	}
	for k := range records {
		r := &records[k]
		if r.Planting != p.ID || !r.Sprayed() || r.Start.After(now) {
			continue
		}
		name := cmp.Or(r.Product, r.Ingredient, r.Material)
		runs := false
		if r.ReEntry.After(now) {
			c.ReEntry, runs = later(c.ReEntry, r.ReEntry), true
		}
		if r.Label.ReEntryDry && now.Sub(r.Finished()) < untilDry {
			c.UntilDry, runs = true, true
		}
		if r.HarvestFrom > today {
			c.HarvestFrom, runs = max(c.HarvestFrom, r.HarvestFrom), true
		}
		if r.Kind != garden.KindHomeMix && today.Sub(civil.Of(r.Start, site.Location())) < unsaidDays {
			if what := unsaidClocks(r); what != "" {
				c.Unsaid, runs = append(c.Unsaid, fmt.Sprintf("%s of %s: %s", name, day(civil.Of(r.Start, site.Location())), what)), true
			}
		}
		if runs && r.Start.After(c.Since) {
			c.Since, c.Material = r.Start, name
		}
	}
	slices.Sort(c.Unsaid)
	return c, !c.Since.IsZero()
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

func unsaidClocks(r *garden.Record) string {
	harvest, entry := r.HarvestFrom.IsZero(), r.ReEntry.IsZero() && !r.Label.ReEntryDry
	switch {
	case harvest && entry:
		return "days before harvest and hours before re-entry not typed"
	case harvest:
		return "days before harvest not typed"
	case entry:
		return "hours before re-entry not typed"
	}
	return ""
}

// Lines returns the clock in short lines for the gate, dates and times local.
func (c *BedClock) Lines(zone *time.Location) []string {
	out := []string{fmt.Sprintf("%s, %s", c.PlotName, c.Crop), fmt.Sprintf("  Sprayed %s with %s.", c.Since.In(zone).Format("Mon 2 Jan 15:04"), c.Material)}
	switch {
	case !c.ReEntry.IsZero():
		line := fmt.Sprintf("  KEEP OUT until %s", c.ReEntry.In(zone).Format("Mon 2 Jan 15:04"))
		if c.UntilDry {
			line += ", and until it is dry"
		}
		out = append(out, line+".")
	case c.UntilDry:
		out = append(out, "  KEEP OUT until it is dry.")
	}
	if !c.HarvestFrom.IsZero() {
		out = append(out, fmt.Sprintf("  DO NOT PICK before %s.", c.HarvestFrom.Format("Mon 2 Jan")))
	}
	for _, u := range c.Unsaid {
		out = append(out, "  ASK BEFORE YOU PICK OR ENTER: "+u+".")
	}
	return out
}

// GateNote is printed under the clocks.
const GateNote = "These dates are worked out from what the grower typed from the label. The label is the law."

// GateLines returns the printed page for the gate.
func GateLines(site *garden.Site, clocks []BedClock, now time.Time) []string {
	zone := site.Location()
	out := []string{fmt.Sprintf("%s, %s", cmp.Or(site.Name, site.ID), now.In(zone).Format("Mon 2 Jan 2006 15:04"))}
	if len(clocks) == 0 {
		out = append(out, "No clock runs: no treatment on record keeps anyone out or stops a harvest.")
	}
	for i := range clocks {
		out = append(out, clocks[i].Lines(zone)...)
	}
	return append(out, GateNote)
}
