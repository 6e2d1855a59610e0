package model

import (
	"plotwarden/garden"
	"plotwarden/risk/degreeday"
	"plotwarden/risk/disease"
	"plotwarden/weather"
)

// SeverityTable scores each day by a table of mean temperature against hours:
// Wallin 1962, Madden, Pennypacker & MacNab 1978, Fry, Apple & Bruhn 1983 and
// their kin. The file says what its day is, which hours count and how, whose
// mean temperature is taken, and how a mean is rounded into a band.
type SeverityTable struct {
	Common `yaml:",inline"`

	Counts string  `yaml:"unit"` // what the values count: "severity values"
	Day    DayKind `yaml:"day"`
	Hours  Hours   `yaml:"hours"`
	Count  Count   `yaml:"count"`
	Mean   MeanOf  `yaml:"mean_of"`
	// Scale is the unit of the bands; RoundTo the step to which a mean is rounded
	// half up before its band is looked up, in that unit.
	Scale   degreeday.Unit  `yaml:"temperature_unit"`
	RoundTo float64         `yaml:"round_to"`
	Tables  []CultivarTable `yaml:"tables"`
	// SumDays makes the total the sum of the last days alone. 0 sums from the
	// start.
	SumDays      int  `yaml:"sum_days"`
	ResetAtSpray bool `yaml:"reset_at_spray"`

	tables map[garden.Susceptibility]*disease.Table
}

// CultivarTable is the table of one class of cultivars.
type CultivarTable struct {
	Cultivar garden.Susceptibility `yaml:"cultivar"` // empty: all
	Bands    []Band                `yaml:"bands"`
}

// Band is a row of a table: temperatures from From to To, both included after
// rounding, and the hours from which each value holds.
type Band struct {
	From  float64 `yaml:"from"`
	To    float64 `yaml:"to"`
	Steps []Step  `yaml:"steps"`
	Note  string  `yaml:"note"` // doubts about the row, with their standing
}

// Step is the value of a band from a number of hours up.
type Step struct {
	Hours float64 `yaml:"hours"`
	Value float64 `yaml:"value"`
}

// Count says how the hours of a day are counted.
type Count string

// The ways of counting.
const (
	Total      Count = "total"       // all hours of the day that count
	LongestRun Count = "longest run" // the longest unbroken run
	SumOfRuns  Count = "sum of runs" // each unbroken run scored on its own, values added
)

// UnmarshalText reads one of the ways.
func (k *Count) UnmarshalText(b []byte) error { return choose(k, b, Total, LongestRun, SumOfRuns) }

// MeanOf says whose mean temperature a table takes.
type MeanOf string

// The choices.
const (
	CountedHours MeanOf = "counted hours"
	WholeDay     MeanOf = "whole day"
)

// UnmarshalText reads one of the choices.
func (m *MeanOf) UnmarshalText(b []byte) error { return choose(m, b, CountedHours, WholeDay) }

// Kind returns "severity-table".
func (s *SeverityTable) Kind() string { return "severity-table" }

// Unit returns what the values count.
func (s *SeverityTable) Unit() string { return s.Counts }

// Needs returns temperature and what the counted hours are known by.
func (s *SeverityTable) Needs() []weather.Var { return withTemp(s.Hours.needs()) }

// withTemp adds the temperature to a list of columns and drops doubles.
func withTemp(vars []weather.Var) []weather.Var {
	out := []weather.Var{weather.Temp}
	for _, v := range vars {
		if v != weather.Temp {
			out = append(out, v)
		}
	}
	return out
}

func (s *SeverityTable) check(c *checker) {
	s.checkCommon(c)
	s.checkTable(c)
}

// checkTable checks all but start and stages.
func (s *SeverityTable) checkTable(c *checker) {
	if s.Counts == "" {
		c.bad(&s.Counts, "key \"unit\" is missing: say what the values count, such as \"severity values\"")
	}
	c.need(&s.Day, "day", "calendar, noon, 09 or 06")
	s.Hours.check(c, "hours")
	c.need(&s.Count, "count", "total, longest run or sum of runs")
	c.need(&s.Mean, "mean_of", "counted hours or whole day: whose mean temperature the bands take")
	c.need(&s.Scale, "temperature_unit", "C or F, of the bands")
	c.whole(&s.SumDays, "sum_days", 0, 60)
	if s.RoundTo < 0.01 || s.RoundTo > 10 {
		c.bad(&s.RoundTo, "round_to: the step to which a mean is rounded half up before its band is looked up, 0.01 to 10; bands of whole degrees have 1")
		return
	}
	if len(s.Tables) == 0 {
		c.bad(&s.Tables, "key \"tables\" is missing: at least one table with bands")
	}
	s.tables = map[garden.Susceptibility]*disease.Table{}
	for i := range s.Tables {
		t := &s.Tables[i]
		if _, twice := s.tables[t.Cultivar]; twice || (t.Cultivar == "" && len(s.Tables) > 1) {
			c.bad(t, "tables[%d].cultivar: of several tables each names another cultivar class", i)
			continue
		}
		table, problem := t.build(s.Scale, s.RoundTo)
		if problem.at != nil {
			c.bad(problem.at, "tables[%d]: %s", i, problem.text)
		}
		s.tables[t.Cultivar] = table
	}
	if len(s.Tables) > 0 && s.tables[""] == nil && s.tables[garden.Susceptible] == nil && len(c.faults) == 0 {
		c.bad(&s.Tables, "tables: one of the tables must be for susceptible cultivars, which stand for those not said")
	}
}

// table returns the table of a cultivar class: its own, or that of all, or that
// of susceptible ones.
func (s *SeverityTable) table(c garden.Susceptibility) *disease.Table {
	for _, k := range []garden.Susceptibility{cautious(c), "", garden.Susceptible} {
		if t := s.tables[k]; t != nil {
			return t
		}
	}
	return nil
}
