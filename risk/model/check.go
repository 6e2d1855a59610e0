package model

import (
	"go.yaml.in/yaml/v3"

	"plotwarden/risk"
	"plotwarden/strict"
)

// checker collects what is wrong with well-formed parameters, each at its place.
type checker struct {
	where  *strict.Where
	node   *yaml.Node
	faults strict.Faults
}

// bad adds a fault at the value behind ptr, or at the rule when the file does
// not have that value.
func (c *checker) bad(ptr any, format string, args ...any) {
	f := c.where.Fault(ptr, format, args...)
	if f.Line == 0 && c.node != nil {
		f.Line, f.Column = c.node.Line, c.node.Column
	}
	c.faults = append(c.faults, f)
}

// need adds a fault when the file does not have the value behind ptr.
func (c *checker) need(ptr any, key, why string) bool {
	if c.where.Has(ptr) {
		return true
	}
	c.bad(ptr, "key %q is missing: %s", key, why)
	return false
}

// number adds a fault when a number lies outside from..to.
func (c *checker) number(ptr *float64, key string, from, to float64) {
	if *ptr < from || *ptr > to {
		c.bad(ptr, "%s: %s is not from %s to %s", key, num(*ptr), num(from), num(to))
	}
}

// whole adds a fault when a whole number lies outside from..to.
func (c *checker) whole(ptr *int, key string, from, to int) {
	if *ptr < from || *ptr > to {
		c.bad(ptr, "%s: %d is not from %d to %d", key, *ptr, from, to)
	}
}

func (c *checker) start(s *Start) {
	if !c.need(s, "start", "say from which day the rule counts") {
		return
	}
	switch s.Kind {
	case FromCalendar:
		if s.Day.IsZero() {
			c.bad(s, "start.day: a calendar start needs a day of the year, such as 01-01")
		}
	case FromCatch:
		if s.Event == "" {
			c.bad(s, "start.event: say what has to be seen, such as \"first sustained catch in a pheromone trap\"")
		}
	case "":
		c.bad(s, "start.kind: say calendar, in ground or catch")
	}
	if s.Kind != FromCalendar && !s.Day.IsZero() {
		c.bad(&s.Day, "start.day: only a calendar start has a day")
	}
	if s.Standing == risk.Unstated && s.Kind != "" {
		c.bad(s, "start.standing: say how far the start was checked: confirmed, confirmed second-hand, derived, from memory or common practice")
	}
}

func (c *checker) stages(stages []Stage) {
	seen := map[string]bool{}
	for i := range stages {
		s := &stages[i]
		switch {
		case s.Name == "":
			c.bad(s, "stages[%d].name: say what is reached", i)
		case seen[s.Name]:
			c.bad(s, "stages[%d].name: %q stands twice", i, s.Name)
		}
		seen[s.Name] = true
		if s.Value < 0 || s.Value > 1e6 {
			c.bad(&s.Value, "stages[%d].value: %s is not from 0 to 1000000", i, num(s.Value))
		}
		if !c.where.Has(&s.Value) {
			c.bad(s, "stages[%d].value: say at what total the stage is reached", i)
		}
		if s.Through != 0 && s.Through <= s.Value {
			c.bad(&s.Through, "stages[%d].through: %s is not above value %s", i, num(s.Through), num(s.Value))
		}
		if i > 0 && s.Value < stages[i-1].Value && s.Cultivar == stages[i-1].Cultivar && s.Spray == stages[i-1].Spray {
			c.bad(&s.Value, "stages[%d].value: %s is below the stage before it; write stages in rising order", i, num(s.Value))
		}
		if (s.From.Text == "") != (s.From.Standing == risk.Unstated) {
			c.bad(s, "stages[%d].source: give text and standing together", i)
		}
	}
}

// clock adds a fault when a whole number is not an hour of the clock.
func (c *checker) clock(ptr *int, key string) { c.whole(ptr, key, 0, 23) }
