package model

import (
	"sort"

	"plotwarden/risk"
	"plotwarden/risk/degreeday"
	"plotwarden/risk/disease"
	"plotwarden/weather"
)

// Run computes the track.
func (r *MildewIndex) Run(in *Input) (*risk.Track, error) { return run(r, in) }

func (r *MildewIndex) key(*env) any         { return r }
func (r *MildewIndex) days() DayKind        { return Calendar }
func (r *MildewIndex) hourly() bool         { return true }
func (r *MildewIndex) infections() []string { return nil }
func (r *MildewIndex) most(*env) float64    { return r.Ceiling }

// margin takes a limit of 70 F, 21.11 C, as reached by an hour that was given as
// 70 F and is held as 21.111111111111107 C.
const margin = 1e-9

// fill writes to c.code whether a day is warm and whether it is hot, as
// warm + 4 hot.
func (r *MildewIndex) fill(e *env, c *column, from int) {
	ws, temp := e.sn.window(Calendar), e.sn.w.Column(weather.Temp)
	c.code = grow(c.code, len(ws))
	low, high, hot := r.Scale.ToC(r.WarmFrom)-margin, r.Scale.ToC(r.WarmTo)+margin, r.Scale.ToC(r.HotFrom)-margin
	for d := from; d < len(ws); d++ {
		a, z, before := inside(ws[d], e.sn.w.Len())
		sure, may, longest, longestMay, unknown := 0, before, 0, before, before
		isHot := disease.No
		for i := a; i < z; i++ {
			x := known(temp, i)
			switch {
			case x != x:
				sure, may = 0, may+1
				unknown++
			case x >= low && x <= high:
				sure, may = sure+1, may+1
			default:
				sure, may = 0, 0
				if x >= hot {
					isHot = disease.Yes
				}
			}
			longest, longestMay = max(longest, sure), max(longestMay, may)
		}
		if isHot == disease.No && unknown > 0 {
			isHot = disease.Maybe
		}
		warm := tri(longest >= r.WarmHours, longestMay >= r.WarmHours)
		c.code[d] = uint8(warm) + 4*uint8(isHot)
		c.set(d, dayValue{unknown: uint8(unknown)})
	}
}

// indexState is what the index may be at the end of a day, and what it is when
// days that may be warm are not, and those that may be hot neither.
type indexState struct{ may, known disease.IndexStates }

func (r *MildewIndex) total(to *Runner, from int) {
	to.index = grow(to.index, len(to.track.Points))
	w, m := to.writer(from), r.numbers()
	for i := from; i < len(w.points); i++ {
		s := indexState{disease.IndexStart(), disease.IndexStart()}
		if i > 0 {
			s = to.index[i-1]
		}
		warm, hot := disease.Maybe, disease.Maybe
		if d := i + to.first; d >= 0 {
			warm, hot = disease.Tri(to.col.code[d]%4), disease.Tri(to.col.code[d]/4)
		}
		sure := s.may == s.known && warm != disease.Maybe && hot != disease.Maybe
		s.may = m.Step(s.may, warm, hot)
		if warm == disease.Maybe {
			warm = disease.No
		}
		if hot == disease.Maybe {
			hot = disease.No
		}
		if !sure {
			s.known = m.Step(s.known, warm, hot)
		} else {
			s.known = s.may
		}
		to.index[i] = s
		p := w.next(i, w.day(i))
		p.Low, p.High = m.Level(s.may)
		if p.Total = p.Low; !sure {
			p.Total, _ = m.Level(s.known)
		}
		p.Value = p.Total
		w.done(p)
	}
}

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
		v, f := sev.at(d), fav.at(d)
		v.flags, v.unknown = 0, max(v.unknown, f.unknown) // odd when either is
		c.set(d, v)
		c.more[0][d], c.more[1][d], c.more[2][d] = f.value, f.low, f.high
	}
}

// total reads the day's call off the recent sums.
func (r *SprayMatrix) total(to *Runner, from int) {
	m := r.matrix()
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
		least, most := m.Span(s.low, s.high, f.low, f.high)
		p.Low, p.High = float64(least), float64(most)
		if reached(allSev, r.Begins.Severity) || reached(allFav, r.Begins.Favourable) {
			p.Total = float64(m.Call(s.value, f.value))
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
