package model

import (
	"math"

	"plotwarden/risk"
	"plotwarden/risk/disease"
)

// Run computes the track.
func (r *PDays) Run(in *Input) (*risk.Track, error) { return run(r, in) }

func (r *PDays) key(*env) any               { return disease.PDays{Lower: r.Lower, Best: r.Best, Upper: r.Upper} }
func (r *PDays) days() DayKind              { return Calendar }
func (r *PDays) hourly() bool               { return false }
func (r *PDays) infections() []string       { return nil }
func (r *PDays) most(*env) float64          { return 10 }
func (r *PDays) total(to *Runner, from int) { sum{}.total(to, from) }

func (r *PDays) fill(e *env, c *column, from int) {
	p := disease.PDays{Lower: r.Lower, Best: r.Best, Upper: r.Upper}
	days := e.sn.daysOf(Air)
	for i := from; i < len(c.v); i++ {
		v := dayValue{}
		if x := p.Day(days.d[i].Min, days.d[i].Max); x == x {
			v.value, v.low, v.high = x, x, x
		} else if v.unknown = days.missing[i]; v.unknown > 0 {
			v.high = 10
		}
		c.set(i, v)
	}
}

// Run computes the track.
func (r *FavourableDays) Run(in *Input) (*risk.Track, error) { return run(r, in) }

func (r *FavourableDays) key(*env) any               { return r }
func (r *FavourableDays) days() DayKind              { return Calendar }
func (r *FavourableDays) hourly() bool               { return false }
func (r *FavourableDays) infections() []string       { return nil }
func (r *FavourableDays) most(*env) float64          { return 1 }
func (r *FavourableDays) total(to *Runner, from int) { sum{broken: r.InARow}.total(to, from) }

func (r *FavourableDays) fill(e *env, c *column, from int) {
	days, rain, open := e.sn.daysOf(Air), e.sn.rain(), e.sn.openDay(Calendar)
	for i := from; i < len(c.v); i++ {
		t := disease.Yes
		if r.MinTemp != nil {
			low := days.d[i].Min
			t = tri(low >= *r.MinTemp, low != low)
		}
		if t != disease.No {
			t = and(t, r.warm(days, i))
		}
		if t != disease.No {
			t = and(t, r.wet(rain.mm, i))
		}
		if t == disease.Maybe && i == open && days.missing[i] == 0 && (r.Rain.Days == 0 || rain.missing[i] == 0) {
			t = disease.No // nothing is missing; the day is not over
		}
		c.set(i, truth(t, 24))
	}
}

// warm judges the mean temperature of the last days. A day that is not known may
// have had any.
func (r *FavourableDays) warm(days *days, i int) disease.Tri {
	sum, unknown := 0.0, 0
	for j := i - r.Mean.Days + 1; j <= i; j++ {
		m := math.NaN()
		if j >= 0 {
			m = (days.d[j].Min + days.d[j].Max) / 2
		}
		if m != m {
			unknown++
			continue
		}
		sum += m
	}
	n := float64(r.Mean.Days)
	low := (sum + float64(unknown)*disease.AirLow) / n
	high := (sum + float64(unknown)*disease.AirHigh) / n
	in := func(m float64) bool {
		return (r.Mean.AtLeast == nil || m >= *r.Mean.AtLeast) && (r.Mean.AtMost == nil || m <= *r.Mean.AtMost) && (r.Mean.Below == nil || m < *r.Mean.Below)
	}
	if unknown == 0 {
		return tri(in(low), false)
	}
	out := (r.Mean.AtLeast != nil && high < *r.Mean.AtLeast) || (r.Mean.AtMost != nil && low > *r.Mean.AtMost) || (r.Mean.Below != nil && low >= *r.Mean.Below)
	return tri(in(low) && in(high), !out)
}

// wet judges the rain of the last days.
func (r *FavourableDays) wet(rain []float64, i int) disease.Tri {
	if r.Rain.Days == 0 {
		return disease.Yes
	}
	sum, unknown := 0.0, false
	for j := i - r.Rain.Days + 1; j <= i; j++ {
		if j < 0 || rain[j] != rain[j] {
			unknown = true
			continue
		}
		sum += rain[j]
	}
	return tri(reached(sum, r.Rain.AtLeast), unknown)
}

// Run computes the track.
func (r *ConsecutiveDays) Run(in *Input) (*risk.Track, error) { return run(r, in) }

func (r *ConsecutiveDays) key(e *env) any       { return bedKey{r, e.bed, ""} }
func (r *ConsecutiveDays) days() DayKind        { return r.Day }
func (r *ConsecutiveDays) hourly() bool         { return true }
func (r *ConsecutiveDays) infections() []string { return []string{r.Event} }
func (r *ConsecutiveDays) most(*env) float64    { return 1 }

// fill says of each day whether it has the warmth and the hours.
func (r *ConsecutiveDays) fill(e *env, c *column, from int) {
	tallies := c.talliesOf(e, &r.Hours, r.Day)
	ws, temp := e.sn.window(r.Day), e.sn.w.Column(0)
	for i := from; i < len(c.v); i++ {
		t := &tallies[i]
		humid := tri(int(t.wet) >= r.AtLeast, int(t.wet)+int(t.unknown) >= r.AtLeast)
		if humid == disease.No {
			c.v[i] = 0
			continue
		}
		a, z, before := inside(ws[i], e.sn.w.Len())
		warm, unknown := disease.Maybe, z-a
		if temp != nil {
			warm, unknown = r.warm(temp[a:z])
		}
		if before > 0 && warm == disease.Yes {
			warm = disease.Maybe
		}
		c.set(i, truth(and(warm, humid), before+max(unknown, int(t.unknown))))
	}
}

// warm judges the lowest temperature; an unknown hour may have been lower.
func (r *ConsecutiveDays) warm(temps []float64) (disease.Tri, int) {
	unknown := 0
	for _, t := range temps {
		if t < r.MinTemp {
			return disease.No, 0
		}
		if t != t {
			unknown++
		}
	}
	return tri(unknown == 0, true), unknown
}

// total counts the days that complete a run of days that all qualify. A point's
// value is 1 on such days.
func (r *ConsecutiveDays) total(to *Runner, from int) {
	w := to.writer(from)
	var run lengths
	for i := max(0, from-r.Days+1); i < from; i++ {
		run.add(w.day(i))
	}
	for i := from; i < len(w.points); i++ {
		d := w.day(i)
		run.add(d)
		v := dayValue{unknown: d.unknown, flags: d.flags}
		if run.may >= r.Days {
			v.value, v.low, v.high = full(run.known, r.Days), full(run.sure, r.Days), 1
		}
		if v.value == 1 && run.forecast < r.Days {
			v.flags |= isForecast
		}
		p := w.next(i, v)
		p.Total, p.Low, p.High = w.prev.Total+v.value, w.prev.Low+v.low, w.prev.High+v.high
		if v.value == 1 {
			w.event(p, risk.Infection, r.Event, float64(r.Days))
		}
		w.done(p)
	}
}

// lengths are how many days in a row qualify as far as known, surely and
// possibly, and how many days ago the last day that rests on forecasts was.
type lengths struct{ known, sure, may, forecast int }

func (n *lengths) add(d dayValue) {
	n.known, n.sure, n.may = (n.known+1)*int(d.value), (n.sure+1)*int(d.low), (n.may+1)*int(d.high)
	if n.forecast++; d.flags&isForecast != 0 {
		n.forecast = 0
	}
}

func full(have, days int) float64 { return float64(one(have >= days)) }

type bedKey struct {
	rule any
	bed  bed
	sus  string
}
