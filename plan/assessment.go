// Package plan goes from an outlook to work: where a planting stands with a
// threat, what to do, in which hours, and what is still protected. It is pure.
package plan

import (
	"fmt"
	"time"

	"plotwarden/civil"
	"plotwarden/risk"
)

// Readiness is where a planting stands with a threat.
type Readiness uint8

// The readinesses, in the order in which a grower wants to see them.
const (
	Present     Readiness = iota + 1 // found in this planting
	Act                              // the time for prevention is now
	Approaching                      // expected within four weeks
	Blind                            // weather missing or too old to say
	Protected                        // covered, or treated and not washed off
	Quiet                            // nothing expected within four weeks
)

var readinessNames = []string{"", "present", "act", "approaching", "blind", "protected", "quiet"}

// String returns the word that the screens show.
func (r Readiness) String() string {
	if int(r) < len(readinessNames) {
		return readinessNames[r]
	}
	return fmt.Sprintf("Readiness(%d)", uint8(r))
}

// MarshalText writes the word.
func (r Readiness) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads the word.
func (r *Readiness) UnmarshalText(b []byte) error {
	for i, n := range readinessNames {
		if i > 0 && n == string(b) {
			*r = Readiness(i)
			return nil
		}
	}
	return fmt.Errorf("readiness %q is not known", b)
}

// Reason says why. The same reason feeds log, metric, page and mail.
type Reason struct {
	Code    string   `json:"code"`    // short and stable: "early-date-near", "weather-stale"
	Text    string   `json:"text"`    // one plain sentence with its numbers
	Numbers []Number `json:"numbers"` // the numbers of the sentence, each with its source
	// Said is Text by its parts, one for each of its sentences, for other
	// languages and units. Empty in what older versions stored.
	Said []Said `json:"said,omitempty"`
}

// Number is one figure behind a reason.
type Number struct {
	Name   string      `json:"name"`           // "total on 4 Jun", "published threshold"
	Said   *Said       `json:"said,omitempty"` // Name by its parts; nil: Name is a term
	Value  float64     `json:"value"`
	Unit   string      `json:"unit"`
	Source risk.Source `json:"source"` // where the figure comes from
}

// Step is one piece of work.
type Step struct {
	Kind StepKind `json:"kind"`
	Text string   `json:"text"` // an instruction in plain words
	// Said is Text by its parts where it is made here, WhenSaid When; empty where
	// the text is the catalogue's, which is its own key.
	Said     []Said      `json:"said,omitempty"`
	WhenSaid []Said      `json:"whenSaid,omitempty"`
	From     civil.Date  `json:"from"` // zero: any time
	By       civil.Date  `json:"by"`   // zero: no last day
	Source   risk.Source `json:"source"`
	// Best is the day by which it is best done, before By; zero: no such day.
	Best civil.Date `json:"best,omitempty"`
	// When is what the step waits for where no date can tell: "once the soil is
	// warm". Empty: nothing.
	When string `json:"when,omitempty"`
	// EveryDays says that the step is repeated, Dates on which days it falls in
	// the weeks ahead.
	EveryDays int          `json:"everyDays,omitempty"`
	Dates     []civil.Date `json:"dates,omitempty"`
	Plants    int          `json:"plants,omitempty"`  // to look at; 0: not a look
	Options   []Option     `json:"options,omitempty"` // of a spray
}

// StepKind is the sort of work. Cultural steps come before sprays.
type StepKind string

// The kinds of step.
const (
	Scout     StepKind = "scout"
	CleanUp   StepKind = "clean up"
	MulchBed  StepKind = "mulch"
	Prune     StepKind = "prune"
	CoverBed  StepKind = "cover"
	OpenCover StepKind = "open cover"
	Space     StepKind = "space"
	WaterBed  StepKind = "water"
	TrapCrop  StepKind = "trap crop"
	HandPick  StepKind = "hand-pick"
	Harvest   StepKind = "harvest"
	Spray     StepKind = "spray"
	TestSpray StepKind = "test spray"
	StopSpray StepKind = "stop spraying"
	Rotate    StepKind = "rotate"
	Choose    StepKind = "choose"
	Timing    StepKind = "timing"
	SowBed    StepKind = "sow"
	PlantOut  StepKind = "plant out"
	Frost     StepKind = "frost"
	Wait      StepKind = "wait"
)

// Assessment is what one round found for one threat to one planting.
type Assessment struct {
	Site     string    `json:"site"`
	Plot     string    `json:"plot"`
	Planting string    `json:"planting"`
	Threat   string    `json:"threat"` // catalogue id
	Model    string    `json:"model"`  // catalogue id; empty when the log alone speaks
	Round    time.Time `json:"round"`  // when it was computed, UTC
	// Weather tells how far the observed weather behind it reaches.
	WeatherUntil time.Time     `json:"weatherUntil"`
	Readiness    Readiness     `json:"readiness"`
	Reason       Reason        `json:"reason"`
	Outlook      *risk.Outlook `json:"outlook,omitempty"`
	Track        *risk.Track   `json:"track,omitempty"`
	// Weighing is the outlook's chance held against what a treatment costs and
	// saves; nil when there is no outlook to weigh.
	Weighing *Weighing `json:"weighing,omitempty"`
	Steps    []Step    `json:"steps,omitempty"`
	// Protection is the state of the last treatment; nil when there was none.
	Protection *Protection `json:"protection,omitempty"`
}

// Key names what an assessment is about; it stays the same from round to round.
func (a *Assessment) Key() string { return a.Site + "/" + a.Planting + "/" + a.Threat + "/" + a.Model }

// Hours is a run of hours judged for work outdoors.
type Hours struct {
	From time.Time `json:"from"` // UTC
	To   time.Time `json:"to"`
	// Good says that leaves are dry, no rain is due within the drying time, wind
	// and temperature are within limits, and it is light. Unknown says that the
	// weather for it is missing; it is then not good.
	Good    bool     `json:"good"`
	Unknown bool     `json:"unknown,omitempty"`
	Why     []string `json:"why,omitempty"` // what stands against it, in plain words
}
