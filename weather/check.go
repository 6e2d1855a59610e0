package weather

import "math"

var missing = math.NaN()

// Check returns a copy of the series without the values that cannot be right,
// and those values with the reason. It judges a series of one source best; in a
// mixed one it compares only hours of the same source.
//
// Every kind of value is held to the ranges and to the agreement of humidity,
// dew point and temperature. Steps and flat lines are looked for in measured
// values only (Station and Nearby): a model has no sensor to fail. A step that
// stays, as a front does, is weather and passes.
//
// Two small corrections are not rejects: humidity up to 104 % becomes 100, as
// weather services do (ZAMG practice in WMO CBS/ET-AWS-1 Doc. 9(2), 2002), and
// radiation down to -20 W/m2, a sensor's night offset, becomes 0 (common
// practice).
//
// Rejects are in the order of time, then of variable.
func Check(s *Series, l Limits) (*Series, []Reject) {
	c := &checker{s: s.Slice(0, s.Len()), limits: l}
	c.sources()
	c.hotDays()
	c.ranges()
	for v := range NumVars {
		if c.s.cols[v] == nil {
			continue
		}
		at := c.measured(v)
		if lim := l.Step[v]; lim.Value > 0 {
			c.steps(v, at, lim)
		}
		if lim := l.Flat[v]; lim.Value > 0 {
			c.flats(v, at, lim)
		}
	}
	c.humidity()
	sortRejects(c.rejects)
	return c.s, c.rejects
}

// checker holds the copy being cleaned.
type checker struct {
	s        *Series
	limits   Limits
	source   []uint8 // by origin index, the same number for origins of one source
	observed []bool  // by origin index, whether an instrument measured it
	rejects  []Reject
}

func (c *checker) sources() {
	number := map[string]uint8{}
	for _, o := range c.s.origins {
		n, ok := number[o.Source]
		if !ok {
			n = uint8(len(number))
			number[o.Source] = n
		}
		c.source = append(c.source, n)
		c.observed = append(c.observed, o.Kind == Station || o.Kind == Nearby)
	}
}

// measured returns the hours of v whose value an instrument measured.
func (c *checker) measured(v Var) []int {
	var at []int
	for i, p := range c.s.prov[v] {
		if p != 0 && c.observed[p-1] {
			at = append(at, i)
		}
	}
	return at
}

// sameSource says whether hours i and j of v are both known and of one source.
func (c *checker) sameSource(v Var, i, j int) bool {
	a, b := c.s.prov[v][i], c.s.prov[v][j]
	return a != 0 && b != 0 && c.source[a-1] == c.source[b-1]
}

func (c *checker) reject(v Var, i int, f Fault, reason string) {
	c.rejects = c.s.setAside(c.rejects, v, i, f, reason)
}
