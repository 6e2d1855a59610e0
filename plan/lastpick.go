package plan

import (
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/planting"
)

// LastPick is when a planting is expected to be picked last: the day before it is
// to be taken out, where that is planned, or else for a warm-season crop the day
// before frost has come in half of the past years (frost kills it: common
// practice). Zero is not known.
func LastPick(p *garden.Planting, autumn planting.Chances, today civil.Date) civil.Date {
	if p.Removed > today {
		return p.Removed - 1
	}
	c, ok := garden.CropByID(p.Crop)
	if !ok || !c.Warm || c.Perennial {
		return 0
	}
	m, ok := autumn.By(0.5)
	if !ok {
		return 0
	}
	d := m.In(today.Year())
	if d <= today {
		d = m.In(today.Year() + 1)
	}
	return d - 1
}
