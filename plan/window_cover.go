package plan

import (
	"slices"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
)

var coverSource = risk.Source{Text: "Mueller et al. 2006 Plant Health Progress; Iowa State Univ. (Saalau, Gleason); Pethybridge et al. 2024: on from planting with sealed edges, open at bloom, not over ground that held the pest last year", Standing: risk.Confirmed}

// beeCrops need insects to set what is picked; covers come off them at flowering
// (common practice).
var beeCrops = []string{"apple", "blueberry", "cucumber", "melon", "peach", "pear", "plum", "pumpkin", "raspberry", "strawberry", "summer squash", "watermelon", "winter squash", "zucchini"}

// cover puts a cover on before the flight and off at flowering.
func (w *windows) cover(s Step) {
	s = w.prevent(s)
	switch w.Planting.Cover {
	case garden.RowCover, garden.InsectNet, garden.Tunnel:
		s.tell(said("The %s is on. Walk round it once a week: edges closed, no holes, nothing trapped inside.", term(string(w.Planting.Cover))))
		s.EveryDays, s.Source, s.By, s.Best = 7, coverSource, 0, 0
	default:
		if crop := w.lastYears(); crop != "" {
			s.tell(said(s.Text), said("This bed had %s last year, and what wintered in the soil would come up under the cover: cover another bed, or look under it every week.", term(crop)))
		}
	}
	w.add(s)
	if !w.pickedFromFlowers() {
		return
	}
	off := Step{Kind: OpenCover, Source: coverSource, Text: "Take the cover off, or open its ends, so that bees reach the flowers."}
	off.wait(said("at %s", term(w.bloom())))
	w.add(off)
}

// bloom says at which flowers bees are needed. Female flowers are those with a
// small fruit behind them.
func (w *windows) bloom() string {
	if c, _ := garden.CropByID(w.Planting.Crop); c.Family == "Cucurbitaceae" {
		return "the first female flowers (a small fruit sits behind them)"
	}
	return "the first open flowers"
}

func (w *windows) pickedFromFlowers() bool { return slices.Contains(beeCrops, w.Planting.Crop) }

// wintered is how many days back a planting counts as last year's.
const wintered = 400

// lastYears names a crop that stood in the same plot last year and that the
// threat attacks too; empty when there was none.
func (w *windows) lastYears() string {
	if w.Plot == nil || w.Threat.Class == catalog.Disease {
		return ""
	}
	year := w.Planting.InGround()
	if year.IsZero() {
		year = w.Today
	}
	for _, p := range w.Plot.Plantings {
		if p.ID != w.Planting.ID && w.Threat.Attacks(p.Crop) && stoodBefore(&p, year) {
			if c, ok := garden.CropByID(p.Crop); ok {
				return c.Name
			}
		}
	}
	return ""
}

func stoodBefore(p *garden.Planting, d civil.Date) bool {
	in := p.InGround()
	return !in.IsZero() && in < d && !p.Removed.IsZero() && p.Removed <= d && d.Sub(p.Removed) <= wintered && in.Year() < d.Year()
}
