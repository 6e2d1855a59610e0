package garden

import (
	"slices"
	"strings"

	"plotwarden/civil"
)

// Material is one entry of the grower's own list, typed from the label in hand.
// Every label value is the grower's: the program fills in none, and a value that
// is left out is not said. What is not said is asked for, never taken as free.
type Material struct {
	ID         string       `yaml:"id" json:"id"`
	Name       string       `yaml:"name" json:"name,omitempty"`                 // what the grower calls it
	Ingredient string       `yaml:"ingredient" json:"ingredient,omitempty"`     // active ingredient as printed
	Kind       MaterialKind `yaml:"kind" json:"kind,omitempty"`                 // how it works
	Group      string       `yaml:"group" json:"group,omitempty"`               // mode-of-action group as printed: "M1", "5"
	Registered string       `yaml:"registration" json:"registration,omitempty"` // registration or authorisation number
	// LabelDate is the date of the label that the values below were typed from.
	LabelDate civil.Date `yaml:"label_date" json:"labelDate,omitempty"`

	Crops          []string `yaml:"crops" json:"crops,omitempty"`                     // crop ids that the label allows; empty is not said
	IntervalDays   int      `yaml:"interval_days" json:"intervalDays,omitempty"`      // least days between two uses; 0 is not said
	SeasonMax      int      `yaml:"season_max" json:"seasonMax,omitempty"`            // most uses in a season; 0 is not said
	PreHarvestDays *int     `yaml:"pre_harvest_days" json:"preHarvestDays,omitempty"` // nil is not said; 0 is a label's value
	ReEntryHours   *int     `yaml:"re_entry_hours" json:"reEntryHours,omitempty"`     // nil is not said
	ReEntryDry     bool     `yaml:"re_entry_dry" json:"reEntryDry,omitempty"`         // the label says: keep out until dry
	DryingHours    float64  `yaml:"drying_hours" json:"dryingHours,omitempty"`        // without rain after use; 0 is not said
	MinTemp        *Degrees `yaml:"min_temp" json:"minTemp,omitempty"`                // air, at use; nil is not said
	MaxTemp        *Degrees `yaml:"max_temp" json:"maxTemp,omitempty"`
	MaxWind        *Speed   `yaml:"max_wind" json:"maxWind,omitempty"`
	// AfterSunrise and BeforeSunset are the hours that some labels keep clear of
	// the night; 0 is not said.
	AfterSunrise float64  `yaml:"after_sunrise_hours" json:"afterSunriseHours,omitempty"`
	BeforeSunset float64  `yaml:"before_sunset_hours" json:"beforeSunsetHours,omitempty"`
	Bees         BeeRule  `yaml:"bees" json:"bees,omitempty"`
	DoNotMix     []string `yaml:"do_not_mix" json:"doNotMix,omitempty"` // material ids, kinds or ingredients
	// ApartDays is how many days the label keeps an oil and sulfur apart; 0 is
	// not said.
	ApartDays int       `yaml:"apart_days" json:"apartDays,omitempty"`
	FollowUp  *FollowUp `yaml:"follow_up" json:"followUp,omitempty"`
	Note      string    `yaml:"note" json:"note,omitempty"`
}

// FollowUp is work that belongs to a use and comes after it: a mix that works by
// night and is rinsed off in the morning.
type FollowUp struct {
	Text       string    `yaml:"text" json:"text"`
	At         ClockTime `yaml:"at" json:"at,omitempty"`                  // the next such local time; empty: AfterHours counts
	AfterHours int       `yaml:"after_hours" json:"afterHours,omitempty"` // hours after the use
}

// Label returns the material's name as the grower knows it.
func (m *Material) Label() string {
	switch {
	case m.Name != "":
		return m.Name
	case m.Ingredient != "":
		return m.Ingredient
	}
	return m.ID
}

// Allows says whether the label names a crop, and whether the grower said at all
// which crops it names.
func (m *Material) Allows(crop string) (allowed, said bool) {
	if len(m.Crops) == 0 {
		return false, false
	}
	return slices.ContainsFunc(m.Crops, func(c string) bool { return strings.EqualFold(c, crop) }), true
}

// Unsaid lists the label values that the grower has not typed, in the words of
// a label. A home mix has no label, and so nothing to type.
func (m *Material) Unsaid() []string {
	if m.Kind == KindHomeMix {
		return nil
	}
	var out []string
	add := func(missing bool, what string) {
		if missing {
			out = append(out, what)
		}
	}
	add(len(m.Crops) == 0, "the crops it may be used on")
	add(m.IntervalDays == 0, "days between two uses")
	add(m.SeasonMax == 0, "most uses in a season")
	add(m.PreHarvestDays == nil, "days before harvest")
	add(m.ReEntryHours == nil && !m.ReEntryDry, "hours before you may go back in")
	add(m.LabelDate.IsZero(), "the date of the label")
	return out
}

// MaterialByID finds a material of a list, nil when it is not there.
func MaterialByID(list []Material, id string) *Material {
	for i := range list {
		if id != "" && list[i].ID == id {
			return &list[i]
		}
	}
	return nil
}
