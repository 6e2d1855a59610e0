package model

import (
	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/disease"
)

// program is a rule that a Season can run: it turns weather into day values,
// which do not depend on where a season starts, and day values into points.
type program interface {
	rule
	// key names the column of day values; equal keys share one.
	key(e *env) any
	// days returns what the rule calls a day.
	days() DayKind
	// fill computes c.vals from index from on, and what else the rule keeps there.
	fill(e *env, c *column, from int)
	// most bounds what one day can add, for days of which nothing is known.
	most(e *env) float64
	// total writes the points of r from index from on.
	total(r *Runner, from int)
	// hourly says that daily records are not enough.
	hourly() bool
	// infections names the rule's infections by class.
	infections() []string
}

// env is what day values are computed in.
type env struct {
	sn  *Season
	bed bed
	sus garden.Susceptibility
}

// column has the day values of one rule.
type column struct {
	marks
	vals []dayValue
	hits []hit // infections, in order of day
	// Kept by some kinds of rule alone: a code of each day, other daily numbers,
	// and the wet period as it stood at the begin of each day.
	code    []uint8
	more    [3][]float64
	periods []disease.Period
}

// dayValue is a day's value with its bounds. low = value = high unless hours are
// unknown.
type dayValue struct {
	value, low, high float64
	unknown          uint8 // hours
	flags            uint8
}

// The flags of a dayValue.
const (
	isForecast uint8 = 1 << iota
	isProvisional
)

// hit is an infection.
type hit struct {
	day   int32
	class uint8 // index into the names of the rule's infections
	value float64
}

// refresh brings a column up to date.
func (c *column) refresh(p program, e *env) {
	sn, kind := e.sn, p.days()
	from := sn.firstDay(kind, c.take(sn))
	if from == fresh {
		return
	}
	from = max(0, from-lookback(p))
	n := sn.count(kind)
	c.vals = grow(c.vals, n)
	from = min(from, n)
	for len(c.hits) > 0 && int(c.hits[len(c.hits)-1].day) >= from {
		c.hits = c.hits[:len(c.hits)-1]
	}
	p.fill(e, c, from)
	c.flag(p, e, from)
}

// flag marks the days that rest on forecasts and the day that is not over. fill
// has set the flags of its own.
func (c *column) flag(p program, e *env, from int) {
	if from == len(c.vals) {
		return
	}
	for _, v := range p.Needs() {
		for i, is := range e.sn.forecastDays(p.days(), v)[from:] {
			if is {
				c.vals[from+i].flags |= isForecast
			}
		}
	}
	if e.sn.w != nil {
		if ws := e.sn.window(p.days()); ws[len(ws)-1].To > e.sn.w.Len() {
			c.vals[len(ws)-1].flags |= isProvisional
		}
	}
}

// lookback is by how many days a changed day can change earlier ones.
func lookback(p program) int {
	if d, ok := p.(*DegreeDays); ok && d.Method.Double() {
		return 1
	}
	return 0
}

// columnOf returns the up-to-date column of a rule.
func (e *env) columnOf(p program) *column {
	c := part(e.sn, e.sn.columns, p.key(e), func() *column { return &column{} })
	c.refresh(p, e)
	return c
}

// truth sets the value of a day on which something counts 1 when it is true.
func (v *dayValue) truth(t disease.Tri, unknown int) {
	*v = dayValue{}
	switch t {
	case disease.Yes:
		v.value, v.low, v.high = 1, 1, 1
	case disease.Maybe:
		v.high, v.unknown = 1, uint8(max(1, unknown))
	}
}

// and is the truth of both.
func and(a, b disease.Tri) disease.Tri {
	switch {
	case a == disease.No || b == disease.No:
		return disease.No
	case a == disease.Yes && b == disease.Yes:
		return disease.Yes
	}
	return disease.Maybe
}

func not(a disease.Tri) disease.Tri {
	switch a {
	case disease.Yes:
		return disease.No
	case disease.No:
		return disease.Yes
	}
	return disease.Maybe
}

// tri is the truth of something that surely holds, or may.
func tri(surely, maybe bool) disease.Tri {
	switch {
	case surely:
		return disease.Yes
	case maybe:
		return disease.Maybe
	}
	return disease.No
}

type point = risk.Point
