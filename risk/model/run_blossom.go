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
		if days.whole(d) {
			if days.d[d].Max > base {
				for _, x := range temp[a:z] {
					if x > base {
						heat += x - base
					}
				}
			}
		} else {
			for i := a; i < z; i++ {
				if x := known(temp, i); x > base {
					heat += x - base
				} else if x != x {
					unknown++
				}
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
	w, win := to.writer(from), r.window(to, from)
	for i := from; i < len(w.points); i++ {
		p := w.next(i, w.day(i))
		p.Total, p.Low, p.High = win.sums(i)
		p.Value = p.Total
		w.done(p)
		if d := i + to.first; d >= 0 && reached(p.Total, r.HeatLeast) && disease.Tri(to.col.code[d]&15) == disease.Yes {
			w.event(p, risk.Infection, r.Event, p.Total)
		}
	}
}

// heatWindow is the last days whose degree-days do not pass the window's total:
// the day itself always, earlier ones not before the start. As days go on its
// begin only moves on. A day of unknown degree-days has none in the sum and in the
// upper bound, and ends the window in the lower.
type heatWindow struct {
	r     *BlossomHeat
	c     *column
	first int // column day of the first point
	begin int
	sure  int // no day from here up to the day before the last looked at is unknown
	next  int // next day to look at for sure
}

// window returns the window as it is to move on from point i.
func (r *BlossomHeat) window(to *Runner, i int) heatWindow {
	w := heatWindow{r: r, c: to.col, first: to.first, begin: max(0, to.first)}
	if d := i + to.first; d > w.begin && d < len(to.col.v) {
		dds := to.col.more[2]
		w.begin += sort.Search(d-w.begin, func(k int) bool { return !w.passes(dds[d+1] - dds[w.begin+k]) })
	}
	w.sure, w.next = w.begin, w.begin
	return w
}

// passes says whether degree-days are more than the window holds.
func (w *heatWindow) passes(dd float64) bool { return dd > w.r.WindowTotal*(1+1e-9) }

func (w *heatWindow) sums(i int) (total, low, high float64) {
	d := i + w.first
	if d < 0 {
		return 0, 0, float64(i+1) * w.r.most(nil)
	}
	heats, mosts, dds := w.c.more[0], w.c.more[1], w.c.more[2]
	for w.begin < d && w.passes(dds[d+1]-dds[w.begin]) {
		w.begin++
	}
	for ; w.next < d; w.next++ {
		if w.c.code[w.next]&16 != 0 {
			w.sure = w.next + 1
		}
	}
	total, high = heats[d+1]-heats[w.begin], mosts[d+1]-mosts[w.begin]
	if w.begin == max(0, w.first) && w.first < 0 { // days before the season
		high += float64(-w.first) * w.r.most(nil)
	}
	from := max(w.begin, w.sure)
	if w.c.code[d]&16 != 0 {
		from = d
	}
	return total, heats[d+1] - heats[from], high
}
