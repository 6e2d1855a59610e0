package model

import (
	"sort"

	"plotwarden/risk"
	"plotwarden/risk/degreeday"
	"plotwarden/risk/disease"
	"plotwarden/weather"
)

// Run computes the track.
func (r *BlossomHeat) Run(in *Input) (*risk.Track, error) { return run(r, in) }

func (r *BlossomHeat) key(e *env) any       { return bedKey{r, e.bed, ""} }
func (r *BlossomHeat) days() DayKind        { return Calendar }
func (r *BlossomHeat) hourly() bool         { return true }
func (r *BlossomHeat) infections() []string { return nil }

// most bounds a day's degree-hours.
func (r *BlossomHeat) most(*env) float64 {
	return 25 * r.Scale.DiffFromC(max(0, disease.AirHigh-r.Scale.ToC(r.HeatAbove)))
}

// fill writes a day's degree-hours as its value, what they may be at the most and
// the degree-days to c.more as sums from the first day, and whether the day is
// warm and wet to c.code. The upper half of c.code marks a day whose degree-days
// are unknown; they count 0 in the sum.
func (r *BlossomHeat) fill(e *env, c *column, from int) {
	ws, temp := e.sn.window(Calendar), e.sn.w.Column(weather.Temp)
	tallies := c.talliesOf(e, &r.Wetting, Calendar)
	days := e.sn.daysOf(Air)
	average := degreeday.Rule{Method: degreeday.Average, Lower: r.Scale.ToC(r.WindowAbove)}
	for k := range c.more {
		c.more[k] = grow(c.more[k], len(ws)+1)
	}
	c.code = grow(c.code, len(ws))
	heats, mosts, dds := c.more[0], c.more[1], c.more[2]
	if err := average.Days(days.d[from:], dds[from+1:]); err != nil {
		panic("model: blossom-heat: " + err.Error())
	}
	base, scale := r.Scale.ToC(r.HeatAbove), r.Scale.DiffFromC(1)
	mean := r.Scale.ToC(r.MeanLeast) - margin
	for d := from; d < len(ws); d++ {
		a, z, before := inside(ws[d], e.sn.w.Len())
		heat, unknown := 0.0, before
		for i := a; i < z; i++ {
			if x := known(temp, i); x > base {
				heat += x - base
			} else if x != x {
				unknown++
			}
		}
		heat *= scale
		most := heat + float64(unknown)*r.most(nil)/25
		c.set(d, dayValue{value: heat, low: heat, high: most, unknown: uint8(unknown)})
		m := (days.d[d].Min + days.d[d].Max) / 2
		c.code[d] = uint8(and(tri(m >= mean, m != m), tri(tallies[d].wet > 0, tallies[d].unknown > 0)))
		dd := dds[d+1] * scale
		if dd != dd {
			dd = 0
			c.code[d] |= 16
		}
		heats[d+1], mosts[d+1], dds[d+1] = heats[d]+heat, mosts[d]+most, dds[d]+dd
	}
}

// total sums the heat of the window and calls an infection on a warm, wet day.
func (r *BlossomHeat) total(to *Runner, from int) {
	w := to.writer(from)
	for i := from; i < len(w.points); i++ {
		p := w.next(i, w.day(i))
		p.Total, p.Low, p.High = r.window(to, i)
		p.Value = p.Total
		w.done(p)
		if d := i + to.first; d >= 0 && reached(p.Total, r.HeatLeast) && disease.Tri(to.col.code[d]&15) == disease.Yes {
			w.event(p, risk.Infection, r.Event, p.Total)
		}
	}
}

// window sums the degree-hours of the last days whose degree-days do not pass
// the window's total: the day itself always, earlier ones not before the start.
// A day of unknown degree-days has none in the sum and in the upper bound, and
// ends the window in the lower.
func (r *BlossomHeat) window(to *Runner, i int) (total, low, high float64) {
	d, first := i+to.first, max(0, to.first)
	if d < 0 {
		return 0, 0, float64(i+1) * r.most(nil)
	}
	c := to.col
	heats, mosts, dds := c.more[0], c.more[1], c.more[2]
	begin := first + sort.Search(d-first, func(k int) bool { return dds[d+1]-dds[first+k] <= r.WindowTotal*(1+1e-9) })
	total, high = heats[d+1]-heats[begin], mosts[d+1]-mosts[begin]
	if begin == first && to.first < 0 { // days before the season
		high += float64(-to.first) * r.most(nil)
	}
	sure := d
	for ; sure > begin && c.code[sure]&16 == 0 && c.code[sure-1]&16 == 0; sure-- {
	}
	return total, heats[d+1] - heats[sure], high
}
