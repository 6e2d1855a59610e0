package garden

import (
	"slices"
	"time"

	"plotwarden/civil"
)

// PeopleHours is a local time in which others are on the ground and nothing is
// sprayed. It may run over midnight. No days means every day.
type PeopleHours struct {
	From ClockTime `yaml:"from" json:"from"`
	To   ClockTime `yaml:"to" json:"to"`
	Days []Weekday `yaml:"days" json:"days,omitempty"`
	Why  string    `yaml:"why" json:"why,omitempty"` // "open day"
}

// Watering is water that is given again and again: 1 mm is 1 litre on a square
// metre. Single waterings are logged as records with their water in mm.
type Watering struct {
	Planting string     `yaml:"planting" json:"planting,omitempty"` // empty: all of the site
	Mm       float64    `yaml:"mm" json:"mm"`
	Days     []Weekday  `yaml:"days" json:"days,omitempty"` // empty: every day
	From     civil.Date `yaml:"from" json:"from,omitempty"` // first day; zero: since ever
	To       civil.Date `yaml:"to" json:"to,omitempty"`     // last day; zero: still
}

// Falls says whether it waters a planting on a date.
func (w *Watering) Falls(planting string, d civil.Date) bool {
	switch {
	case w.Planting != "" && w.Planting != planting, d < w.From, !w.To.IsZero() && d > w.To:
		return false
	}
	return fallsOn(w.Days, d)
}

func fallsOn(days []Weekday, d civil.Date) bool {
	return len(days) == 0 || slices.ContainsFunc(days, func(w Weekday) bool { return w.Falls(d) })
}

// On returns the weekdays that days name; none for every day.
func (p *PeopleHours) On() []time.Weekday {
	var out []time.Weekday
	for _, w := range p.Days {
		if w.set {
			out = append(out, w.day)
		}
	}
	return out
}

// care checks people's hours and waterings.
func (v *validator) care(s *Site) {
	for i := range s.PeopleHours {
		p := &s.PeopleHours[i]
		if p.From == "" || p.To == "" {
			v.fault(p, "people_hours needs from and to, such as \"15:00\" and \"19:00\"")
		} else if p.From == p.To {
			v.fault(&p.To, "people_hours begin and end at %s; write two different times", p.To)
		}
	}
	for i := range s.Watering {
		w := &s.Watering[i]
		if !(w.Mm > 0) || w.Mm > mostWater {
			v.fault(&w.Mm, "mm %g is not between 0 and %d", w.Mm, mostWater)
		}
		v.plantingRef(s, &w.Planting)
		v.date(&w.From)
		v.date(&w.To)
		if !w.To.IsZero() && w.To < w.From {
			v.fault(&w.To, "to %s is before from %s", w.To, w.From)
		}
	}
}

// mostMaturity bounds days to maturity; beyond it is a slip.
const mostMaturity = 400

// mostWater bounds one watering, mm; beyond it is a slip.
const mostWater = 200
