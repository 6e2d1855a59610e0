package model

import (
	"plotwarden/risk"
	"plotwarden/risk/disease"
)

// Run computes the track.
func (r *SprayMatrix) Run(in *Input) (*risk.Track, error) { return run(r, in) }

func (r *SprayMatrix) key(e *env) any       { return bedKey{r, e.bed, string(cautious(e.sus))} }
func (r *SprayMatrix) days() DayKind        { return Calendar }
func (r *SprayMatrix) hourly() bool         { return true }
func (r *SprayMatrix) infections() []string { return nil }
func (r *SprayMatrix) most(*env) float64    { return float64(len(r.Calls) - 1) }

// fill keeps the severity of each day as its value and whether it is favourable,
// with bounds, in c.more.
func (r *SprayMatrix) fill(e *env, c *column, from int) {
	sev, fav := e.columnOf(&r.Severity), e.columnOf(&r.Favourable)
	for k := range c.more {
		c.more[k] = grow(c.more[k], len(c.v))
	}
	for d := from; d < len(c.v); d++ {
		if !sev.oddIn(d, d+1) && !fav.oddIn(d, d+1) {
			x := fav.v[d]
			c.v[d], c.more[0][d], c.more[1][d], c.more[2][d] = sev.v[d], x, x, x
			continue
		}
		v, f := sev.at(d), fav.at(d)
		v.flags, v.unknown = 0, max(v.unknown, f.unknown) // odd when either is
		c.set(d, v)
		c.more[0][d], c.more[1][d], c.more[2][d] = f.value, f.low, f.high
	}
}

// total reads the day's call off the recent sums.
func (r *SprayMatrix) total(to *Runner, from int) {
	m := &r.calls
	mostSev := r.Severity.most(&to.env)
	for k := range to.state {
		to.state[k] = grow(to.state[k], len(to.track.Points))
	}
	w := to.writer(from)
	for i := from; i < len(w.points); i++ {
		p := w.next(i, w.day(i))
		// The sums from the start, which open the calls. In doubt they are open.
		sev, fav := r.day(w, i, mostSev)
		allSev, allFav := sev.value, fav.value
		if i > 0 {
			allSev, allFav = allSev+to.state[0][i-1], allFav+to.state[1][i-1]
		}
		to.state[0][i], to.state[1][i] = allSev, allFav
		s := r.recent(w, i, r.SeverityDays, mostSev, false)
		f := r.recent(w, i, r.FavourableOver, mostSev, true)
		call := m.Call(s.value, f.value)
		p.Low, p.High = float64(call), float64(call)
		if s.low != s.high || f.low != f.high {
			least, most := m.Span(s.low, s.high, f.low, f.high)
			p.Low, p.High = float64(least), float64(most)
		}
		if reached(allSev, r.Begins.Severity) || reached(allFav, r.Begins.Favourable) {
			p.Total = float64(call)
		} else {
			p.Low = 0
			if p.UnknownHours == 0 {
				p.High = 0
			}
		}
		p.Value = p.Total
		w.done(p)
	}
}

// recent sums the last days of a point, of severity or of favourable days.
func (r *SprayMatrix) recent(w *writer, i, days int, mostSev float64, favourable bool) dayValue {
	var sum dayValue
	c, z := w.r.col, i+w.r.first+1
	if a := z - min(days, i+1); a >= 0 && !c.oddIn(a, z) {
		from := c.v
		if favourable {
			from = c.more[0]
		}
		for _, x := range from[a:z] {
			sum.value += x
		}
		sum.low, sum.high = sum.value, sum.value
		return sum
	}
	for j := max(0, i-days+1); j <= i; j++ {
		v, f := r.day(w, j, mostSev)
		if favourable {
			v = f
		}
		sum.value, sum.low, sum.high = sum.value+v.value, sum.low+v.low, sum.high+v.high
	}
	return sum
}

// day returns severity and favourability of a point.
func (r *SprayMatrix) day(w *writer, i int, mostSev float64) (sev, fav dayValue) {
	d := i + w.r.first
	if d < 0 {
		return dayValue{high: mostSev}, dayValue{high: 1}
	}
	c := w.r.col
	return c.at(d), dayValue{value: c.more[0][d], low: c.more[1][d], high: c.more[2][d]}
}

func (r *SprayMatrix) matrix() disease.Matrix {
	m := disease.Matrix{Columns: r.Columns}
	for i := range r.Rows {
		m.Rows = append(m.Rows, r.Rows[i].From)
		m.Cells = append(m.Cells, r.Rows[i].Cells)
	}
	return m
}
