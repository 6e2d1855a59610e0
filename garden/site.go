// Package garden has the grower's world: places, plots, plantings, people and
// what they saw and did. Plain types and their validation; no I/O.
package garden

import (
	"time"

	"plotwarden/civil"
)

// Site is a piece of ground with one weather: its plots share every hour.
type Site struct {
	ID        string  `yaml:"id" json:"id"`               // short, lower case, unique
	Name      string  `yaml:"name" json:"name,omitempty"` // as people say it
	Latitude  float64 `yaml:"latitude" json:"latitude"`   // degrees, north positive
	Longitude float64 `yaml:"longitude" json:"longitude"` // degrees, east positive
	Elevation Metres  `yaml:"elevation" json:"elevation"` // above sea level; written 120, "120 m" or "394 ft"
	Zone      string  `yaml:"zone" json:"zone"`           // IANA time zone
	// SeasonStart is the day from which fixed calendar starts of models are
	// counted: a model that starts on 1 January starts here, one that starts on
	// 1 March two months later. When not set it is 01-01 north of the equator
	// and 07-01 south of it.
	SeasonStart civil.MonthDay `yaml:"season_start" json:"seasonStart,omitzero"`
	Plots       []Plot         `yaml:"plots" json:"plots,omitempty"`
	// PeopleHours keep spray hours clear of others on the ground; Watering is what
	// is given beside the rain.
	PeopleHours []PeopleHours `yaml:"people_hours" json:"peopleHours,omitempty"`
	Watering    []Watering    `yaml:"watering" json:"watering,omitempty"`
	// Stakes are what is weighed before a treatment, in plots that say nothing of
	// their own.
	Stakes []Stake `yaml:"stakes" json:"stakes,omitempty"`
}

// Location returns the site's zone. A site that passed validation has one.
func (s *Site) Location() *time.Location {
	loc, err := time.LoadLocation(s.Zone)
	if err != nil {
		return time.UTC
	}
	return loc
}

// Season returns the site's season start, with its default by hemisphere.
func (s *Site) Season() civil.MonthDay {
	if !s.SeasonStart.IsZero() {
		return s.SeasonStart
	}
	if s.Latitude < 0 {
		return civil.MonthDay{Month: time.July, Day: 1}
	}
	return civil.MonthDay{Month: time.January, Day: 1}
}

// Plot is one bed or group of beds.
type Plot struct {
	ID        string     `yaml:"id" json:"id"` // unique within its site
	Name      string     `yaml:"name" json:"name,omitempty"`
	Grower    string     `yaml:"grower" json:"grower,omitempty"` // id of the person who tends it; may be empty
	Plantings []Planting `yaml:"plantings" json:"plantings,omitempty"`
	Stakes    []Stake    `yaml:"stakes" json:"stakes,omitempty"` // of its grower
}

// Planting is one crop in one plot, from sowing to removal.
type Planting struct {
	ID             string         `yaml:"id" json:"id"`                                   // unique within its site
	Crop           string         `yaml:"crop" json:"crop"`                               // id of a Crop
	Cultivar       string         `yaml:"cultivar" json:"cultivar,omitempty"`             // free text
	Susceptibility Susceptibility `yaml:"susceptibility" json:"susceptibility,omitempty"` // of the cultivar to disease
	Sown           civil.Date     `yaml:"sown" json:"sown,omitempty"`
	PlantedOut     civil.Date     `yaml:"planted_out" json:"plantedOut,omitempty"`
	Removed        civil.Date     `yaml:"removed" json:"removed,omitempty"`
	// MaturityDays is the days to maturity on the grower's own seed packet; 0 is not
	// said. The last sowing before frost is counted from it.
	MaturityDays int        `yaml:"maturity_days" json:"maturityDays,omitempty"`
	Cover        Cover      `yaml:"cover" json:"cover,omitempty"`
	Mulch        Mulch      `yaml:"mulch" json:"mulch,omitempty"`
	Irrigation   Irrigation `yaml:"irrigation" json:"irrigation,omitempty"`
}

// InGround returns the first day in the bed: planted out, or else sown.
func (p *Planting) InGround() civil.Date {
	if !p.PlantedOut.IsZero() {
		return p.PlantedOut
	}
	return p.Sown
}

// GrowingOn says whether the planting stands in its bed on a date.
func (p *Planting) GrowingOn(d civil.Date) bool {
	from := p.InGround()
	return !from.IsZero() && from <= d && (p.Removed.IsZero() || d < p.Removed)
}
