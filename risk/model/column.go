package model

import (
	"sort"

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
	// fill sets the values of c from day from on, and what else the rule keeps there.
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
	v     []float64
	flags []uint8  // shared with other columns
	odd   []oddDay // days with bounds or flags of their own, in order
	hits  []hit    // infections, in order of day
	// Kept by some kinds of rule alone: a code of each day, other daily numbers,
	// and the wet period as it stood at the begin of each day.
	code    []uint8
	more    [3][]float64
	periods []disease.Period

	// At hand, so that a refresh need not look them up.
	states  *states
	tallies *tallies
	spells  *spells
	byDay   *dayFlags
}

// dayValue is a day's value with its bounds. low = value = high unless hours are
// unknown.
type dayValue struct {
	value, low, high float64
	unknown          uint8 // hours
	flags            uint8
}

// oddDay is the value of a day that is not just a number.
type oddDay struct {
	day int
	dayValue
}

// The flags of a day.
const (
	isForecast uint8 = 1 << iota
	isProvisional
)

// hit is an infection.
type hit struct {
	day   int32
	class uint8 // index into the names of the rule's infections
	doubt bool  // whether it happened rests on unknown hours
	value float64
}

// set sets the value of day i; days are set in order.
func (c *column) set(i int, v dayValue) {
	c.v[i] = v.value
	if v.unknown != 0 || v.flags != 0 || v.low != v.high {
		c.odd = append(c.odd, oddDay{i, v})
	}
}

// at returns the value of day i.
func (c *column) at(i int) dayValue {
	v := dayValue{value: c.v[i], low: c.v[i], high: c.v[i]}
	if c.oddIn(i, i+1) {
		if k := c.oddFrom(i); k < len(c.odd) && c.odd[k].day == i {
			v = c.odd[k].dayValue
		}
	}
	v.flags |= c.flags[i]
	return v
}

// oddIn says whether any of the days from a up to z may be odd.
func (c *column) oddIn(a, z int) bool {
	n := len(c.odd)
	return n > 0 && c.odd[0].day < z && c.odd[n-1].day >= a
}

// oddFrom returns the index of the first odd day that is not before day i.
func (c *column) oddFrom(i int) int {
	return sort.Search(len(c.odd), func(k int) bool { return c.odd[k].day >= i })
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
	c.v = grow(c.v, n)
	from = min(from, n)
	c.odd = c.odd[:c.oddFrom(from)]
	for len(c.hits) > 0 && int(c.hits[len(c.hits)-1].day) >= from {
		c.hits = c.hits[:len(c.hits)-1]
	}
	if n == 0 {
		return
	}
	p.fill(e, c, from)
	if c.byDay == nil || c.byDay.gone {
		c.byDay = sn.flagsOf(kind, p.Needs())
	}
	c.flags = c.byDay.get(sn, kind)
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

// truth is the value of a day on which something counts 1 when it is true.
func truth(t disease.Tri, unknown int) dayValue {
	switch t {
	case disease.Yes:
		return dayValue{value: 1, low: 1, high: 1}
	case disease.Maybe:
		return dayValue{high: 1, unknown: uint8(max(1, unknown))}
	}
	return dayValue{}
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
