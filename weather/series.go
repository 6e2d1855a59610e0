package weather

import (
	"fmt"
	"math"
	"time"
)

// MaxOrigins is the most origins one Series can tell apart.
const MaxOrigins = 255

// Series is a run of consecutive hours at one place, kept by columns. A missing
// value is NaN in its column and has no origin. The zero Series is empty.
type Series struct {
	start   int64 // hours since the Unix epoch, UTC
	n       int
	cols    [NumVars][]float64 // nil when the whole column is missing
	prov    [NumVars][]uint8   // index into origins plus one; 0 is missing
	origins []Origin
}

// NewSeries returns n missing hours that begin at start. It panics when start
// is not on the hour or n is negative: both are mistakes of the caller.
func NewSeries(start time.Time, n int) *Series {
	if start.Unix()%3600 != 0 || start.Nanosecond() != 0 {
		panic(fmt.Sprintf("weather: series start %v is not on the hour", start))
	}
	if n < 0 {
		panic("weather: negative number of hours")
	}
	return &Series{start: floorHour(start.Unix()), n: n}
}

// Len returns the number of hours.
func (s *Series) Len() int { return s.n }

// Start returns the first hour, UTC.
func (s *Series) Start() time.Time { return time.Unix(s.start*3600, 0).UTC() }

// End returns the hour after the last.
func (s *Series) End() time.Time { return s.Time(s.n) }

// Time returns the start of hour i, UTC.
func (s *Series) Time(i int) time.Time { return time.Unix((s.start+int64(i))*3600, 0).UTC() }

// Index returns the hour that holds t; it is below 0 or at least Len outside.
func (s *Series) Index(t time.Time) int { return int(floorHour(t.Unix()) - s.start) }

// Column returns the values of v, one an hour, NaN where missing; nil when the
// whole column is missing. The caller must not change it.
func (s *Series) Column(v Var) []float64 { return s.cols[v] }

// Value returns v at hour i, NaN when missing or outside.
func (s *Series) Value(v Var, i int) float64 {
	if c := s.cols[v]; c != nil && i >= 0 && i < s.n {
		return c[i]
	}
	return math.NaN()
}

// OriginAt returns the origin of v at hour i, and whether there is a value.
func (s *Series) OriginAt(v Var, i int) (Origin, bool) {
	if p := s.prov[v]; p != nil && i >= 0 && i < s.n && p[i] != 0 {
		return s.origins[p[i]-1], true
	}
	return Origin{}, false
}

// Origins returns the origins in use, in the order they were added.
func (s *Series) Origins() []Origin { return s.origins }

// AddOrigin returns the handle of an origin for Set, adding it when new. It
// fails when the series holds MaxOrigins already.
func (s *Series) AddOrigin(o Origin) (uint8, error) {
	for i, have := range s.origins {
		if have == o {
			return uint8(i + 1), nil
		}
	}
	if len(s.origins) == MaxOrigins {
		return 0, fmt.Errorf("a series holds at most %d origins", MaxOrigins)
	}
	s.origins = append(s.origins, o)
	return uint8(len(s.origins)), nil
}

// Set stores a value at hour i with an origin handle of AddOrigin. NaN and
// infinities make the hour missing. It panics when i is outside.
func (s *Series) Set(v Var, i int, x float64, origin uint8) {
	if i < 0 || i >= s.n {
		panic(fmt.Sprintf("weather: hour %d of %d", i, s.n))
	}
	missing := math.IsNaN(x) || math.IsInf(x, 0)
	if s.cols[v] == nil {
		if missing {
			return
		}
		s.cols[v] = make([]float64, s.n)
		for j := range s.cols[v] {
			s.cols[v][j] = math.NaN()
		}
		s.prov[v] = make([]uint8, s.n)
	}
	if missing {
		s.cols[v][i], s.prov[v][i] = math.NaN(), 0
		return
	}
	if origin == 0 || int(origin) > len(s.origins) {
		panic("weather: value without an origin")
	}
	s.cols[v][i], s.prov[v][i] = x, origin
}

// Slice returns a copy of the hours from i to j, clipped to the series.
func (s *Series) Slice(i, j int) *Series {
	i, j = max(0, min(i, s.n)), max(0, min(j, s.n))
	if j < i {
		j = i
	}
	out := NewSeries(s.Time(i), j-i)
	out.origins = append([]Origin(nil), s.origins...)
	for v := range s.cols {
		if s.cols[v] != nil {
			out.cols[v] = append([]float64(nil), s.cols[v][i:j]...)
			out.prov[v] = append([]uint8(nil), s.prov[v][i:j]...)
		}
	}
	return out
}

// Extend returns the series grown, where needed, to cover from start to end.
// It is the receiver itself when nothing has to grow.
func (s *Series) Extend(start, end time.Time) *Series {
	if s.n == 0 {
		return NewSeries(start, max(0, int(floorHour(end.Unix())-floorHour(start.Unix()))))
	}
	first := min(s.start, floorHour(start.Unix()))
	last := max(s.start+int64(s.n), floorHour(end.Unix()))
	if first == s.start && last == s.start+int64(s.n) {
		return s
	}
	out := NewSeries(time.Unix(first*3600, 0), int(last-first))
	out.origins = append([]Origin(nil), s.origins...)
	at := int(s.start - first)
	for v := range s.cols {
		if s.cols[v] == nil {
			continue
		}
		out.cols[v] = make([]float64, out.n)
		for j := range out.cols[v] {
			out.cols[v][j] = math.NaN()
		}
		out.prov[v] = make([]uint8, out.n)
		copy(out.cols[v][at:], s.cols[v])
		copy(out.prov[v][at:], s.prov[v])
	}
	return out
}

func floorHour(unix int64) int64 {
	h := unix / 3600
	if unix%3600 < 0 {
		h--
	}
	return h
}
