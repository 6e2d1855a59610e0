package weather

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"
)

// Combine makes one series out of many of the same place, covering all of them.
// For each hour and variable it takes the most trusted value known, by the order
// of the kinds: own station, nearby station, analysis, forecast, interpolated,
// modelled. So a forecast of an hour that has passed yields to an analysis of it.
// Of values of one kind the one issued last counts, where a service that does not
// say is taken to have issued when it was fetched; then the one fetched last; then
// that of the earlier argument. Every value keeps its origin, which records the
// choice.
//
// Humidity and dew point are first derived within each series, so that a station
// that gives only one of them is not overruled in the other. Temperature and
// humidity of one hour can still come from two sources.
//
// Nil series are passed over. The error says that the chosen values have more
// than MaxOrigins sources and kinds to tell apart; of origins that differ only
// in their times, the later ones are merged before that happens.
func Combine(series ...*Series) (*Series, error) {
	var in []*Series
	for _, s := range series {
		if s != nil && s.n > 0 {
			in = append(in, Derive(s))
		}
	}
	if len(in) == 0 {
		return NewSeries(time.Unix(0, 0), 0), nil
	}
	first, last := in[0].start, in[0].start+int64(in[0].n)
	for _, s := range in {
		first, last = min(first, s.start), max(last, s.start+int64(s.n))
	}
	m := newMerger(in, NewSeries(time.Unix(first*3600, 0), int(last-first)))
	for v := range NumVars {
		if err := m.column(v); err != nil {
			return nil, fmt.Errorf("combine %s: %w", v, err)
		}
	}
	return m.out, nil
}

// preference orders origins, the one that counts before the other first.
func preference(a, b Origin) int {
	return cmp.Or(cmp.Compare(a.Kind, b.Kind), issuedAt(b).Compare(issuedAt(a)), b.Fetched.Compare(a.Fetched))
}

func issuedAt(o Origin) time.Time {
	if o.Issued.IsZero() {
		return o.Fetched
	}
	return o.Issued
}

// merger holds the origins of all series in order of preference.
type merger struct {
	in      []*Series
	out     *Series
	origins []Origin
	rank    [][]int32 // by series and origin index: place in origins
	handles []uint8   // by place in origins: handle in out, 0 before it is used
	best    []int32   // by hour of out: place of the value chosen so far
}

const none = math.MaxInt32

func newMerger(in []*Series, out *Series) *merger {
	m := &merger{in: in, out: out, best: make([]int32, out.n)}
	place := map[Origin]int32{}
	for _, s := range in {
		for _, o := range s.origins {
			if _, ok := place[o]; !ok {
				place[o] = 0
				m.origins = append(m.origins, o)
			}
		}
	}
	slices.SortStableFunc(m.origins, preference)
	for i, o := range m.origins {
		place[o] = int32(i)
	}
	for _, s := range in {
		r := make([]int32, len(s.origins))
		for k, o := range s.origins {
			r[k] = place[o]
		}
		m.rank = append(m.rank, r)
	}
	m.handles = make([]uint8, len(m.origins))
	return m
}

func (m *merger) column(v Var) error {
	for i := range m.best {
		m.best[i] = none
	}
	var col []float64
	for k, s := range m.in {
		if s.cols[v] == nil {
			continue
		}
		if col == nil {
			col = make([]float64, m.out.n)
			for i := range col {
				col[i] = missing
			}
		}
		at := int(s.start - m.out.start)
		for i, p := range s.prov[v] {
			if p == 0 {
				continue
			}
			if r := m.rank[k][p-1]; r < m.best[at+i] {
				m.best[at+i], col[at+i] = r, s.cols[v][i]
			}
		}
	}
	if col == nil {
		return nil
	}
	prov := make([]uint8, m.out.n)
	for i, r := range m.best {
		if r == none {
			continue
		}
		if m.handles[r] == 0 {
			h, ok := m.out.handle(m.origins[r])
			if !ok {
				return fmt.Errorf("more than %d sources and kinds", MaxOrigins)
			}
			m.handles[r] = h
		}
		prov[i] = m.handles[r]
	}
	m.out.cols[v], m.out.prov[v] = col, prov
	return nil
}
