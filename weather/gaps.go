package weather

import "math"

// interpolable are the columns that change smoothly enough to be drawn across a
// short gap. Rain is not: nothing around a gap tells whether it rained.
var interpolable = []Var{Temp, RH, DewPoint, Wind}

// Gap is a run of missing hours of one column, To not included.
type Gap struct {
	From, To int
}

// Hours returns the length of the gap.
func (g Gap) Hours() int { return g.To - g.From }

// Gaps returns the runs of missing hours of v, in order, those at the ends of
// the series included.
func (s *Series) Gaps(v Var) []Gap {
	if s.n == 0 {
		return nil
	}
	if s.cols[v] == nil {
		return []Gap{{0, s.n}}
	}
	var out []Gap
	for i := 0; i < s.n; {
		if s.prov[v][i] != 0 {
			i++
			continue
		}
		g := Gap{From: i}
		for i < s.n && s.prov[v][i] == 0 {
			i++
		}
		g.To = i
		out = append(out, g)
	}
	return out
}

// FillGaps returns a copy of the series in which gaps of temperature, humidity,
// dew point and wind of at most maxHours hours between two known values are
// filled on a straight line. Filled values have Kind Interpolated and the name of
// the source around the gap. Longer gaps, and those at the ends, stay unknown;
// rain is never filled. When the series has no room for another origin, the gap
// stays unknown too.
func FillGaps(s *Series, maxHours int) *Series {
	out := s.Slice(0, s.n)
	for _, v := range interpolable {
		if out.cols[v] == nil {
			continue
		}
		for _, g := range out.Gaps(v) {
			if g.From == 0 || g.To == out.n || g.Hours() > maxHours {
				continue
			}
			out.fill(v, g)
		}
	}
	return out
}

func (s *Series) fill(v Var, g Gap) {
	left, _ := s.OriginAt(v, g.From-1)
	right, _ := s.OriginAt(v, g.To)
	handle, ok := s.handle(Origin{Source: joinSources(left, right), Kind: Interpolated, Corrected: left.Corrected || right.Corrected})
	if !ok {
		return
	}
	a, b := s.cols[v][g.From-1], s.cols[v][g.To]
	for i := g.From; i < g.To; i++ {
		share := float64(i-g.From+1) / float64(g.Hours()+1)
		// Rounding must not carry a value past its neighbours.
		x := math.Max(math.Min(a, b), math.Min(math.Max(a, b), a+(b-a)*share))
		s.Set(v, i, x, handle)
	}
}

// handle returns the handle of an origin, adding it when new. In a full series
// one of the same source and kind stands in.
func (s *Series) handle(o Origin) (uint8, bool) {
	if h, err := s.AddOrigin(o); err == nil {
		return h, true
	}
	for i, have := range s.origins {
		if have.Source == o.Source && have.Kind == o.Kind && have.Corrected == o.Corrected {
			return uint8(i + 1), true
		}
	}
	return 0, false
}

// joinSources names the sources of two values.
func joinSources(a, b Origin) string {
	if a.Source == b.Source {
		return a.Source
	}
	return a.Source + " + " + b.Source
}
