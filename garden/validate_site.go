package garden

import (
	"math"
	"strings"
	"time"

	"plotwarden/strict"
)

// Heights at which anything is grown lie within these, the shore of the Dead
// Sea and the highest mountain, in metres.
const lowestGround, highestGround = -430, 8849

func (v *validator) site(s *Site) {
	v.place(s)
	v.zone(s)
	v.stakes(s.Stakes)
	plots := ids{what: "plot", within: " on site " + s.ID}
	plantings := ids{what: "planting", within: " on site " + s.ID}
	for i := range s.Plots {
		p := &s.Plots[i]
		v.id(&p.ID, p, &plots)
		v.personRef(&p.Grower)
		v.stakes(p.Stakes)
		for j := range p.Plantings {
			v.id(&p.Plantings[j].ID, &p.Plantings[j], &plantings)
			v.planting(&p.Plantings[j])
		}
		v.overlaps(p)
	}
	v.care(s)
}

func (v *validator) place(s *Site) {
	if s.Latitude == 0 && s.Longitude == 0 && !v.refused(&s.Latitude, &s.Longitude) {
		v.fault(s, "site has no place; write latitude (north is positive) and longitude (east is positive) in degrees")
		return
	}
	if math.Abs(s.Latitude) > 90 {
		v.fault(&s.Latitude, "latitude %g is outside -90 to 90 degrees", s.Latitude)
	}
	if math.Abs(s.Longitude) > 180 {
		v.fault(&s.Longitude, "longitude %g is outside -180 to 180 degrees", s.Longitude)
	}
	if s.Elevation < lowestGround || s.Elevation > highestGround {
		v.fault(&s.Elevation, "elevation %g m is outside %d to %d m", float64(s.Elevation), lowestGround, highestGround)
	}
}

func (v *validator) zone(s *Site) {
	if s.Zone == "" {
		v.missing(s, &s.Zone, "site has no zone; write its IANA time zone, such as America/New_York")
		return
	}
	loc, err := loadZone(s.Zone)
	if err != nil {
		v.fault(&s.Zone, "%s", unknownZone(s.Zone))
		return
	}
	january, june := zoneOffset(loc, time.January), zoneOffset(loc, time.July)
	if fixedZone(s.Zone) {
		v.warn(&s.Zone, "zone %s never changes its clocks; a place's own zone has a name such as America/New_York", s.Zone)
	}
	// Clocks lie within three and a half hours of the sun everywhere.
	off := math.Mod(min(january, june)-s.Longitude/15+36, 24) - 12
	if math.Abs(off) > 4 && !fixedZone(s.Zone) && !v.refused(&s.Longitude) && math.Abs(s.Longitude) <= 180 {
		v.warn(&s.Longitude, "longitude %g lies far from the zone %s; west of Greenwich is negative", s.Longitude, s.Zone)
	}
}

func zoneOffset(loc *time.Location, m time.Month) (hours float64) {
	_, sec := time.Date(2026, m, 1, 0, 0, 0, 0, loc).Zone()
	return float64(sec) / 3600
}

func (v *validator) planting(p *Planting) {
	switch _, ok := CropByID(p.Crop); {
	case p.Crop == "":
		v.missing(p, &p.Crop, "planting has no crop")
	case !ok:
		v.fault(&p.Crop, "%s", unknownCrop(p.Crop))
	}
	v.date(&p.Sown)
	v.date(&p.PlantedOut)
	v.date(&p.Removed)
	if p.MaturityDays < 0 || p.MaturityDays > mostMaturity {
		v.fault(&p.MaturityDays, "maturity_days %d is not between 0 and %d", p.MaturityDays, mostMaturity)
	}
	if p.InGround().IsZero() && !v.refused(&p.Sown, &p.PlantedOut) {
		v.fault(p, "planting has no start; write sown or planted_out")
	}
	if !p.Sown.IsZero() && !p.PlantedOut.IsZero() && p.PlantedOut < p.Sown {
		v.fault(&p.PlantedOut, "planted_out %s is before sown %s", p.PlantedOut, p.Sown)
	}
	if from := p.InGround(); !p.Removed.IsZero() && !from.IsZero() && p.Removed <= from {
		v.fault(&p.Removed, "removed %s is not after the planting's start %s", p.Removed, from)
	}
}

// unknownCrop offers the nearest spelling, or all crops: people have many words
// for one, and a list of sixty is short enough to read.
func unknownCrop(name string) string {
	m := strict.Unknown("crop", name, CropIDs())
	if !strings.Contains(m, ";") {
		m += "; known are: " + strings.Join(CropIDs(), ", ")
	}
	return m
}

// overlaps warns of a crop that stands twice in a plot at a time: most often
// the first was pulled and its removal not written down.
func (v *validator) overlaps(plot *Plot) {
	for i := range plot.Plantings {
		later := &plot.Plantings[i]
		for j := range plot.Plantings {
			first := &plot.Plantings[j]
			if i == j || first.Crop != later.Crop || first.Crop == "" || first.InGround().IsZero() {
				continue
			}
			older := first.InGround() < later.InGround() || first.InGround() == later.InGround() && j < i
			if older && first.GrowingOn(later.InGround()) {
				v.warn(later, "planting %s of %s begins while planting %s of it stands in plot %s; if that was pulled, write its removed", later.ID, later.Crop, first.ID, plot.ID)
			}
		}
	}
}
