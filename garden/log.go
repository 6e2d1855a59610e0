package garden

import (
	"time"

	"plotwarden/civil"
)

// Finding is what a look at the plants gave.
type Finding string

// The findings. "None" is as worth logging as "found": it brackets the arrival.
const (
	Found  Finding = "found"
	None   Finding = "none"
	Unsure Finding = "unsure"
)

var findings = []string{string(Found), string(None), string(Unsure)}

// UnmarshalText reads one of the findings.
func (f *Finding) UnmarshalText(b []byte) error { return choose((*string)(f), b, findings) }

// Scouting is one look at one planting for one threat. Like a Record it is never
// changed: a correction is a new one that says which it replaces, and Looks gives
// those that stand.
type Scouting struct {
	ID string `yaml:"id" json:"id"`
	// Replaces is the id of the look that this one corrects, Why says why, and
	// Withdrawn takes the look back.
	Replaces  string    `yaml:"replaces" json:"replaces,omitempty"`
	Why       string    `yaml:"why" json:"why,omitempty"`
	Withdrawn bool      `yaml:"withdrawn" json:"withdrawn,omitempty"`
	Entered   time.Time `yaml:"entered" json:"entered,omitzero"`
	EnteredBy string    `yaml:"entered_by" json:"enteredBy,omitempty"` // person id, where it is not By who wrote it down

	Site     string     `yaml:"site" json:"site"`
	Planting string     `yaml:"planting" json:"planting"` // may be empty in past years' logs
	Plot     string     `yaml:"plot" json:"plot"`         // may be empty
	Threat   string     `yaml:"threat" json:"threat"`     // catalogue id
	Date     civil.Date `yaml:"date" json:"date"`
	Finding  Finding    `yaml:"finding" json:"finding"`
	Stage    string     `yaml:"stage" json:"stage,omitempty"`     // what was seen: "adults flying", "eggs", "spots on lowest leaves"
	BBCH     *int       `yaml:"bbch" json:"bbch,omitempty"`       // growth stage of the crop, 0 to 99; nil is not said
	Plants   int        `yaml:"plants" json:"plants,omitempty"`   // plants looked at; 0 is not said
	Count    *int       `yaml:"count" json:"count,omitempty"`     // animals or lesions counted
	Percent  *float64   `yaml:"percent" json:"percent,omitempty"` // of plants, or of leaf area, affected, 0 to 100
	By       string     `yaml:"by" json:"by,omitempty"`           // person id
	Note     string     `yaml:"note" json:"note,omitempty"`
	Photos   []string   `yaml:"photos" json:"photos,omitempty"` // ids under which they are kept
	Share    bool       `yaml:"share" json:"share,omitempty"`   // the finder lets ground neighbours see it
}

// Treatment is one thing done against threats: a spray, a cover, a clean-up.
// Label values are the user's own, typed from the label; the program has none.
type Treatment struct {
	ID         string    `yaml:"id" json:"id"`
	Site       string    `yaml:"site" json:"site"`
	Planting   string    `yaml:"planting" json:"planting"`
	Threats    []string  `yaml:"threats" json:"threats"` // catalogue ids it is aimed at
	At         time.Time `yaml:"at" json:"at"`
	Material   string    `yaml:"material" json:"material"`     // id of the user's Material, or free text
	Ingredient string    `yaml:"ingredient" json:"ingredient"` // active ingredient
	Note       string    `yaml:"note" json:"note,omitempty"`
	By         string    `yaml:"by" json:"by,omitempty"`
	// From the user's label. 0 is not said.
	IntervalDays   int `yaml:"interval_days" json:"intervalDays,omitempty"`
	PreHarvestDays int `yaml:"pre_harvest_days" json:"preHarvestDays,omitempty"`
	ReEntryHours   int `yaml:"re_entry_hours" json:"reEntryHours,omitempty"`
}

// Person is someone who gets messages or tends a plot.
type Person struct {
	ID    string   `yaml:"id" json:"id"`
	Name  string   `yaml:"name" json:"name,omitempty"`
	Email string   `yaml:"email" json:"email,omitempty"`
	Sites []string `yaml:"sites" json:"sites,omitempty"` // sites whose digest they get
	Units Units    `yaml:"units" json:"units,omitempty"` // metric unless said
	Quiet bool     `yaml:"quiet" json:"quiet,omitempty"` // no digest on mornings with nothing new
	// Digest is the local time of a site at which the person wants the message;
	// empty is the site's own.
	Digest ClockTime `yaml:"digest" json:"digest,omitempty"`

	// Calendar says that the person's mails have the work of the days ahead as an
	// iCalendar file.
	Calendar   bool       `yaml:"calendar" json:"calendar,omitempty"`
	Language   Language   `yaml:"language" json:"language,omitempty"`
	QuietHours QuietHours `yaml:"quiet_hours" json:"quietHours,omitzero"`
	Holidays   []Holiday  `yaml:"holidays" json:"holidays,omitempty"`
	Weekly     Weekday    `yaml:"weekly" json:"weekly,omitzero"` // one day of the week; every day unless said
	Mute       []Mute     `yaml:"mute" json:"mute,omitempty"`
	Webhook    Webhook    `yaml:"webhook" json:"webhook,omitzero"`
}

// Units is how a person reads numbers.
type Units string

// The unit systems.
const (
	Metric Units = "metric" // C, mm, km/h
	US     Units = "us"     // F, inches, mph
)

// UnmarshalText reads one of the unit systems.
func (u *Units) UnmarshalText(b []byte) error {
	return choose((*string)(u), b, []string{string(Metric), string(US)})
}

// Region is a set of sites that one volunteer looks after.
type Region struct {
	ID         string   `yaml:"id" json:"id"`
	Name       string   `yaml:"name" json:"name,omitempty"`
	Sites      []string `yaml:"sites" json:"sites,omitempty"`
	Volunteers []string `yaml:"volunteers" json:"volunteers,omitempty"` // person ids
}

// Garden is everything that a configuration describes.
type Garden struct {
	Sites      []Site      `yaml:"sites" json:"sites,omitempty"`
	People     []Person    `yaml:"people" json:"people,omitempty"`
	Regions    []Region    `yaml:"regions" json:"regions,omitempty"`
	Scoutings  []Scouting  `yaml:"scoutings" json:"scoutings,omitempty"`
	Treatments []Treatment `yaml:"treatments" json:"treatments,omitempty"`
	Materials  []Material  `yaml:"materials" json:"materials,omitempty"` // the growers' own list, typed from labels
}
