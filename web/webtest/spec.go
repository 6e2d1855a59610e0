// Package webtest has an invented community garden for the tests of the pages:
// every readiness, a long track, gaps, a failing source, and a fake store. Its
// numbers are made up and say so; nothing in it is a published model.
package webtest

import (
	"plotwarden/risk"
	"plotwarden/risk/model"
	"plotwarden/weather"
)

// Spec is a rule that has numbers to show and computes nothing.
type Spec struct {
	UnitName string
	At       []model.Stage
	From     model.Start
}

// Kind names the kind of rule.
func (Spec) Kind() string { return "invented" }

// Unit returns what the rule counts.
func (s Spec) Unit() string { return s.UnitName }

// Stages returns the thresholds.
func (s Spec) Stages() []model.Stage { return s.At }

// Start returns the start.
func (s Spec) Start() model.Start { return s.From }

// Needs returns nothing.
func (Spec) Needs() []weather.Var { return nil }

// Run returns an empty track.
func (s Spec) Run(*model.Input) (*risk.Track, error) { return &risk.Track{Unit: s.UnitName}, nil }
