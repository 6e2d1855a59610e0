package model

import (
	"math"

	"plotwarden/risk"
	"plotwarden/risk/degreeday"
	"plotwarden/risk/disease"
)

// Run computes the track.
func (d *DegreeDays) Run(in *Input) (*risk.Track, error) { return run(d, in) }

type degreeDayKey struct {
	rule  degreeday.Rule
	scale degreeday.Unit
	of    Medium
}

func (d *DegreeDays) key(*env) any {
	k := degreeDayKey{d.rule, d.Scale, d.Of}
	if k.rule.Upper != k.rule.Upper { // NaN is no key
		k.rule.Upper = math.Inf(1)
	}
	return k
}

func (d *DegreeDays) days() DayKind        { return Calendar }
func (d *DegreeDays) hourly() bool         { return d.Method == degreeday.Hourly }
func (d *DegreeDays) infections() []string { return nil }

// most is the degree-days of a day as warm as air can be: U - L with an upper
// threshold.
func (d *DegreeDays) most(*env) float64 {
	top := disease.AirHigh
	if d.Upper != nil && (d.Cutoff != degreeday.None && d.Cutoff != "" || d.Method != degreeday.Average) {
		top = min(top, d.rule.Upper)
	}
	return d.Scale.DiffFromC(max(0, top-d.rule.Lower))
}

func (d *DegreeDays) fill(e *env, c *column, from int) {
	var err error
	if d.Method == degreeday.Hourly {
		err = d.rule.Windows(e.sn.w.Column(d.variable()), e.sn.window(Calendar)[from:], c.v[from:])
	} else {
		err = d.rule.Days(e.sn.daysOf(d.Of).d[from:], c.v[from:])
	}
	if err != nil {
		// The rule was checked when it was decoded and the days when they came in.
		panic("model: degree-days: " + err.Error())
	}
	scale, double := d.Scale.DiffFromC(1), d.Method.Double()
	for i, x := range c.v[from:] {
		x *= scale
		c.v[from+i] = x
		switch {
		case x != x:
			d.unknown(e, c, from+i)
		case double:
			d.waits(e, c, from+i)
		}
	}
}

// unknown sets the value of a day that is not known.
func (d *DegreeDays) unknown(e *env, c *column, i int) {
	v := dayValue{}
	if d.Method == degreeday.Hourly { // which has no use for the extremes
		a, z, before := inside(e.sn.window(Calendar)[i], e.sn.w.Len())
		v.unknown = uint8(z - a + before)
		if col := e.sn.w.Column(d.variable()); col != nil {
			_, known := sumKnown(col[a:z])
			v.unknown -= uint8(known)
		}
	} else {
		v.unknown = e.sn.daysOf(d.Of).missing[i]
	}
	if v.unknown > 0 {
		v.high = d.most(e)
	}
	c.set(i, v)
}

// waits sets the value of a day whose next one is not known.
func (d *DegreeDays) waits(e *env, c *column, i int) {
	days, x := e.sn.daysOf(d.Of), c.v[i]
	last := i+1 == len(c.v)
	if !last && !math.IsNaN(days.d[i+1].Min) {
		return
	}
	v := dayValue{value: x, low: x, high: x, flags: isProvisional}
	if !last && days.missing[i+1] > 0 {
		// The second half of the day runs to a minimum that will stay unknown.
		v.low, v.high, v.unknown = x/2, (x+d.most(e))/2, 1
	}
	c.set(i, v)
}

func (d *DegreeDays) total(r *Runner, from int) { sum{}.total(r, from) }
