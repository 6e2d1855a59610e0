// Package model runs published rules over weather: each kind of rule is a Spec
// that the catalogue fills from a data file. KINDS.md describes the kinds.
package model

import (
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/weather"
)

// Spec is one rule with its numbers, ready to run. Implementations are plain
// values without state; Run may be called from many goroutines.
type Spec interface {
	// Kind returns the name of the kind of rule in data files.
	Kind() string
	// Unit returns what the track's values count.
	Unit() string
	// Stages returns the thresholds of the rule in rising order, those of
	// insects first adults, eggs and so on, those of diseases first spray.
	Stages() []Stage
	// Start says from which day the rule counts.
	Start() Start
	// Needs returns the columns without which the rule cannot run.
	Needs() []weather.Var
	// Run computes the track over all of in.Weather from in.Start on. Missing
	// weather never fails: it makes unknown hours. It fails when the input
	// cannot belong to the rule (no start, daily records for an hourly rule).
	Run(in *Input) (*risk.Track, error)
}

// Stage is a threshold of a rule and what it means.
type Stage struct {
	Name  string      `yaml:"name"`
	Value float64     `yaml:"value"`
	Note  string      `yaml:"note"`
	From  risk.Source `yaml:"source"` // empty: the model's own
	// Through is the far end when a range was published; the stage is reached at
	// Value. 0 when a point was published.
	Through float64 `yaml:"through"`
	// Cultivar limits the stage to cultivars of one susceptibility. Empty is all.
	Cultivar garden.Susceptibility `yaml:"cultivar"`
	// Spray limits the stage to the time before the season's first spray or
	// after it, for rules that go back to 0 at each spray. Empty is both.
	Spray SprayTime `yaml:"spray"`
}

// SprayTime is when a stage holds.
type SprayTime string

// The times of a stage.
const (
	FirstSpray SprayTime = "first" // no spray yet
	NextSpray  SprayTime = "next"  // after a spray
)

// UnmarshalText reads one of the times.
func (s *SprayTime) UnmarshalText(b []byte) error {
	return choose(s, b, FirstSpray, NextSpray)
}

// Holds says whether the stage applies to a cultivar of a susceptibility, with
// or without a spray so far. A cultivar that is not said counts as susceptible.
func (s *Stage) Holds(c garden.Susceptibility, sprayed bool) bool {
	if s.Cultivar != "" && s.Cultivar != cautious(c) {
		return false
	}
	return s.Spray == "" || (s.Spray == NextSpray) == sprayed
}

// cautious takes a cultivar of which nothing is said as susceptible.
func cautious(c garden.Susceptibility) garden.Susceptibility {
	if c == "" {
		return garden.Susceptible
	}
	return c
}

// StartKind says what starts a rule.
type StartKind string

// The kinds of start.
const (
	FromCalendar StartKind = "calendar" // a fixed day of the year, moved with the site's season start
	FromInGround StartKind = "in ground"
	FromCatch    StartKind = "catch" // a first or sustained catch, or another find that the grower logs
)

// UnmarshalText reads one of the kinds of start.
func (k *StartKind) UnmarshalText(b []byte) error {
	return choose(k, b, FromCalendar, FromInGround, FromCatch)
}

// Start is a rule's start.
type Start struct {
	Kind      StartKind      `yaml:"kind"`
	Day       civil.MonthDay `yaml:"day"`       // for FromCalendar, in the northern calendar
	Event     string         `yaml:"event"`     // for FromCatch, what has to be seen
	Exclusive bool           `yaml:"exclusive"` // counting begins on the day after
	Standing  risk.Standing  `yaml:"standing"`
}

// Input is what a rule runs on. Either Weather or Days must be given; rules
// that work on days take Days when Weather is nil.
type Input struct {
	Weather *weather.Series
	Days    []weather.Day  // consecutive; used when Weather is nil
	Zone    *time.Location // of the site, for the rule's days; nil is UTC
	Start   civil.Date     // first candidate day; the rule applies Exclusive itself
	Now     time.Time      // hours from here on are forecast; zero: only what its origin calls forecast
	// Resets are days of sprays on which sums that re-zero go back to 0.
	Resets         []civil.Date
	Susceptibility garden.Susceptibility
	Cover          garden.Cover
	// Irrigated lists hours, as indices into Weather, in which overhead water
	// wetted the leaves, in rising order.
	Irrigated []int
	// Season shares the work that rules of one site-season have in common. It
	// must have been made from the same weather. nil: the run makes its own.
	Season *Season
}
