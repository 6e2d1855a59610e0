// Package model runs published rules over weather: each kind of rule is a Spec
// that the catalogue fills from a data file.
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
}

// StartKind says what starts a rule.
type StartKind string

// The kinds of start.
const (
	FromCalendar StartKind = "calendar" // a fixed day of the year, moved with the site's season start
	FromInGround StartKind = "in ground"
	FromCatch    StartKind = "catch" // a first or sustained catch, or another find that the grower logs
)

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
	Zone    *time.Location // of the site, for the rule's days
	Start   civil.Date     // first candidate day; the rule applies Exclusive itself
	Now     time.Time      // hours from here on are forecast
	// Resets are days of sprays on which sums that re-zero go back to 0.
	Resets         []civil.Date
	Susceptibility garden.Susceptibility
	Cover          garden.Cover
	// Irrigated lists hours, as indices into Weather, in which overhead water
	// wetted the leaves.
	Irrigated []int
}
