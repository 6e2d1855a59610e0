package pack

import (
	"fmt"
	"math"
	"time"

	"plotwarden/weather"
)

// maxHours bounds one blob: about sixty years.
const maxHours = 1 << 19

// maxOrigins bounds the origins of a grid; a series that is made of one has at
// most weather.MaxOrigins.
const maxOrigins = 1 << 16

// Grid is a run of hours whose values can come from any number of origins. It
// is the form in which stored hours are merged: newest hours have an origin for
// each fetch, more than one weather.Series can tell apart.
type Grid struct {
	start   int64 // hours since the Unix epoch
	n       int
	cols    [weather.NumVars][]float64 // nil: all missing
	prov    [weather.NumVars][]uint32  // index into origins plus one
	origins []weather.Origin
	index   map[weather.Origin]uint32
}

// NewGrid returns n missing hours from start, which must be on the hour.
func NewGrid(start time.Time, n int) *Grid {
	return &Grid{start: start.Unix() / 3600, n: n, index: map[weather.Origin]uint32{}}
}

// Empty says whether nothing was ever put in.
func (g *Grid) Empty() bool {
	for _, c := range g.cols {
		if c != nil {
			return false
		}
	}
	return true
}

func (g *Grid) handle(o weather.Origin) uint32 {
	o.Issued, o.Fetched = o.Issued.UTC(), o.Fetched.UTC() // so that equal instants are equal values
	h, ok := g.index[o]
	if !ok {
		g.origins = append(g.origins, o)
		h = uint32(len(g.origins))
		g.index[o] = h
	}
	return h
}

func (g *Grid) column(v weather.Var) ([]float64, []uint32) {
	if g.cols[v] == nil {
		g.cols[v] = make([]float64, g.n)
		for i := range g.cols[v] {
			g.cols[v][i] = math.NaN()
		}
		g.prov[v] = make([]uint32, g.n)
	}
	return g.cols[v], g.prov[v]
}

// Merge puts in the hours of s that lie in the grid. A missing value changes
// nothing. A value takes the place of the one that is there unless that one was
// observed by a more trusted kind of source (own station, then one near by, then
// an analysis, then what was not observed), or is of like trust and was fetched
// later.
func (g *Grid) Merge(s *weather.Series) {
	first := int(s.Start().Unix()/3600 - g.start)
	handles := make([]uint32, len(s.Origins()))
	for v := range weather.NumVars {
		in := s.Column(v)
		for i := max(0, -first); i < len(in) && first+i < g.n; i++ {
			if math.IsNaN(in[i]) {
				continue
			}
			o, p := origin(s, v, i)
			cols, prov := g.column(v)
			at := first + i
			if have := prov[at]; have != 0 && !replaces(g.origins[have-1], o) {
				continue
			}
			if handles[p] == 0 {
				handles[p] = g.handle(o)
			}
			cols[at], prov[at] = in[i], handles[p]
		}
	}
}

// origin returns the origin of a value and its place in the series' list.
func origin(s *weather.Series, v weather.Var, i int) (weather.Origin, int) {
	o, _ := s.OriginAt(v, i)
	for p, have := range s.Origins() {
		if have == o {
			return o, p
		}
	}
	panic("pack: a value whose origin is not in its series")
}

func replaces(have, o weather.Origin) bool {
	if (have.Kind.Observed() || o.Kind.Observed()) && have.Kind != o.Kind {
		return o.Kind < have.Kind // the order of the kinds is that of trust
	}
	return !o.Fetched.Before(have.Fetched)
}

// Paste puts in every value of part that lies in the grid, whatever is there.
func (g *Grid) Paste(part *Grid) {
	first := int(part.start - g.start)
	for v := range weather.NumVars {
		for i := max(0, -first); i < len(part.cols[v]) && first+i < g.n; i++ {
			if p := part.prov[v][i]; p != 0 {
				cols, prov := g.column(v)
				cols[first+i], prov[first+i] = part.cols[v][i], g.handle(part.origins[p-1])
			}
		}
	}
}

// Series returns the hours as a series. Where there are more origins than a
// series can tell apart, those that differ only in time are joined, first
// within an hour, then within a day, ten days, and at last altogether; the
// earliest times of a joined group stand for it, so that age is never
// understated.
func (g *Grid) Series() (*weather.Series, error) {
	s := weather.NewSeries(time.Unix(g.start*3600, 0), g.n)
	joined, err := g.join(weather.MaxOrigins)
	if err != nil {
		return nil, err
	}
	handles := make([]uint8, len(g.origins))
	for v := range weather.NumVars {
		for i, p := range g.prov[v] {
			if p == 0 {
				continue
			}
			if handles[p-1] == 0 {
				if handles[p-1], err = s.AddOrigin(joined[p-1]); err != nil {
					return nil, err
				}
			}
			s.Set(v, i, g.cols[v][i], handles[p-1])
		}
	}
	return s, nil
}

// join returns, for each origin of the grid, the one that stands for it, so
// that those in use are at most limit.
func (g *Grid) join(limit int) ([]weather.Origin, error) {
	used := make([]bool, len(g.origins))
	for v := range weather.NumVars {
		for _, p := range g.prov[v] {
			if p != 0 {
				used[p-1] = true
			}
		}
	}
	for _, step := range []time.Duration{0, time.Hour, 24 * time.Hour, 240 * time.Hour, math.MaxInt64} {
		groups := map[weather.Origin]weather.Origin{}
		for i, o := range g.origins {
			if !used[i] {
				continue
			}
			k := coarse(o, step)
			first, ok := groups[k]
			if !ok {
				first = o
			}
			if o.Issued.Before(first.Issued) {
				first.Issued = o.Issued
			}
			if o.Fetched.Before(first.Fetched) {
				first.Fetched = o.Fetched
			}
			groups[k] = first
		}
		if len(groups) > limit {
			continue
		}
		out := make([]weather.Origin, len(g.origins))
		for i, o := range g.origins {
			out[i] = groups[coarse(o, step)]
		}
		return out, nil
	}
	return nil, fmt.Errorf("hours come from more than %d different sources", limit)
}

func coarse(o weather.Origin, step time.Duration) weather.Origin {
	switch step {
	case 0:
	case math.MaxInt64:
		o.Issued, o.Fetched = time.Time{}, time.Time{}
	default:
		o.Issued, o.Fetched = time.Time{}, o.Fetched.Truncate(step)
	}
	return o
}
