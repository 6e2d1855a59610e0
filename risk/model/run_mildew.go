package model

import (
	"plotwarden/risk"
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
	ws, temp, days := e.sn.window(Calendar), e.sn.w.Column(weather.Temp), e.sn.daysOf(Air)
	c.code = grow(c.code, len(ws))
	low, high, hot := r.Scale.ToC(r.WarmFrom)-margin, r.Scale.ToC(r.WarmTo)+margin, r.Scale.ToC(r.HotFrom)-margin
	for d := from; d < len(ws); d++ {
		a, z, before := inside(ws[d], e.sn.w.Len())
		if days.whole(d) && days.d[d].Max < low {
			c.code[d], c.v[d] = uint8(disease.No)+4*uint8(disease.No), 0
			continue
		}
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
