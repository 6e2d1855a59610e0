package season

import (
	"strings"

	"plotwarden/civil"
	"plotwarden/garden"
)

// Given lists the water that the site's plantings got from one day up to and with
// another: what the site's settings say is given again and again, and what was
// logged in mm. Logged water takes the place of the settings' on its day.
func Given(site *garden.Site, records []garden.Record, from, to civil.Date) []Watering {
	var out []Watering
	logged := map[string]bool{}
	key := func(planting string, d civil.Date) string { return planting + "/" + d.String() }
	for _, r := range garden.Current(records) {
		d := civil.Of(r.Start, site.Location())
		if r.Sprayed() || r.Water == nil || *r.Water <= 0 || !strings.EqualFold(strings.TrimSpace(r.WaterUnit), "mm") || d < from || d > to {
			continue
		}
		logged[key(r.Planting, d)] = true
		out = append(out, Watering{r.Planting, d, *r.Water})
	}
	for i := range site.Plots {
		for j := range site.Plots[i].Plantings {
			p := &site.Plots[i].Plantings[j]
			for d := max(from, p.InGround()); d <= to; d++ {
				if !p.GrowingOn(d) || logged[key(p.ID, d)] {
					continue
				}
				for k := range site.Watering {
					if w := &site.Watering[k]; w.Falls(p.ID, d) {
						out = append(out, Watering{p.ID, d, w.Mm})
					}
				}
			}
		}
	}
	return out
}
