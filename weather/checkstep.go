package weather

import (
	"fmt"
	"math"
)

const (
	spikeHours = 3 // the longest leap and return that counts as one fault
	nearHours  = 3 // how far apart neighbours may lie
)

// steps rejects short runs that leap away from the hours before and after, which
// agree with each other, and a leap at the end of the series, which the next
// hour will confirm or not. at are the hours to look at.
func (c *checker) steps(v Var, at []int, lim Limit) {
	for p := 1; p < len(at); p++ {
		left := at[p-1]
		if !c.neighbours(v, left, at[p]) || !(math.Abs(c.s.cols[v][at[p]]-c.s.cols[v][left]) > lim.Value) {
			continue
		}
		if n := c.spike(v, at, p, lim.Value); n > 0 {
			for _, i := range at[p : p+n] {
				c.reject(v, i, FaultStep, fmt.Sprintf("leaps from %s and back, more than %s %s (%s)", num(c.s.cols[v][left]), num(lim.Value), v.Unit(), lim.Source))
			}
			at = append(at[:p:p], at[p+n:]...)
			p--
		} else if p == len(at)-1 {
			c.reject(v, at[p], FaultStep, fmt.Sprintf("leaps from %s, more than %s %s (%s); held back until the next hour confirms it", num(c.s.cols[v][left]), num(lim.Value), v.Unit(), lim.Source))
		}
	}
}

// spike returns how many hours from at[p] on stand apart from the hour before
// and the one after them; 0 when the leap does not return.
func (c *checker) spike(v Var, at []int, p int, limit float64) int {
	col := c.s.cols[v]
	left := col[at[p-1]]
	up := col[at[p]] > left
	for n := 1; n <= spikeHours && p+n < len(at); n++ {
		if !c.neighbours(v, at[p+n-1], at[p+n]) {
			return 0
		}
		right := col[at[p+n]]
		if math.Abs(right-left) > limit/2 {
			continue
		}
		for _, i := range at[p : p+n] {
			if (col[i] > left) != up || (col[i] > right) != up || math.Abs(col[i]-left) <= limit || math.Abs(col[i]-right) <= limit {
				return 0
			}
		}
		return n
	}
	return 0
}

func (c *checker) neighbours(v Var, i, j int) bool { return j-i <= nearHours && c.sameSource(v, i, j) }
