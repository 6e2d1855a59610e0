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
	n := len(c.vals)
	c.more[0] = grow(c.more[0], n)
	dd, most := c.more[0], d.most(e)
	days := e.sn.daysOf(d.Of)
	var err error
	if d.Method == degreeday.Hourly {
		err = d.rule.Windows(e.sn.w.Column(d.Needs()[0]), e.sn.window(Calendar)[from:], dd[from:])
	} else {
		err = d.rule.Days(days.d[from:], dd[from:])
	}
	if err != nil {
		// The rule was checked when it was decoded and the days when they came in.
		panic("model: degree-days: " + err.Error())
	}
	scale := d.Scale.DiffFromC(1)
	for i := from; i < n; i++ {
		v := dayValue{}
		if x := dd[i] * scale; x == x {
			v.value, v.low, v.high = x, x, x
		} else if v.unknown = days.missing[i]; v.unknown > 0 {
			v.high = most
		}
		if d.Method.Double() && dd[i] == dd[i] && (i+1 == n || math.IsNaN(days.d[i+1].Min)) {
			v.flags = isProvisional
		}
		c.vals[i] = v
	}
}

func (d *DegreeDays) total(r *Runner, from int) { sum{}.total(r, from) }
