package weather

import "fmt"

// calm is the wind, m/s, below which a long flat line is no fault: HadISD's own
// code, for reports to whole m/s.
const calm = 0.5

// flats rejects runs of one same value as long as the limit, in hours. A gap of
// more than a day ends a run. at are the hours to look at.
func (c *checker) flats(v Var, at []int, lim Limit) {
	col := c.s.cols[v]
	for p := 0; p < len(at); {
		q := p + 1
		for q < len(at) && col[at[q]] == col[at[p]] && at[q]-at[q-1] <= 24 && c.sameSource(v, at[p], at[q]) {
			q++
		}
		x, limit := col[at[p]], lim
		if v == RH && x >= SaturatedFrom {
			limit = c.limits.Saturated
		}
		quiet := v == Rain && x == 0 || v == Wind && x < calm
		if !quiet && float64(q-p) >= limit.Value {
			for _, i := range at[p:q] {
				c.reject(v, i, FaultFlat, fmt.Sprintf("the same for %d hours, the limit is %s (%s)", q-p, num(limit.Value), limit.Source))
			}
		}
		p = q
	}
}
