package disease

import (
	"fmt"
	"math"
)

// Generic is the generic infection model of Magarey, Sutton & Thayer 2005,
// Phytopathology 95:92-100 (confirmed second-hand, two copies and a
// textbook's code that agree). Temperatures in C, wet hours in h.
type Generic struct {
	Min, Best, Max float64 // Min < Best < Max
	WetMin         float64 // hours needed at Best
	WetMax         float64 // the most hours needed wherever infection is possible
}

// UnknownWetMax is the authors' figure for pathogens whose longest need is not
// known: 3.8 + 3.0 WetMin (r 0.71, RMS 6.0 h, 64 studies).
func UnknownWetMax(wetMin float64) float64 { return 3.8 + 3.0*wetMin }

// Response returns f(T), 0 to 1:
//
//	f(T) = (Max-T)/(Max-Best) * ((T-Min)/(Best-Min))^((Best-Min)/(Max-Best))
//
// within Min to Max, and 0 outside.
func (g Generic) Response(t float64) float64 {
	if !(t > g.Min && t < g.Max) {
		return 0
	}
	return (g.Max - t) / (g.Max - g.Best) * math.Pow((t-g.Min)/(g.Best-g.Min), (g.Best-g.Min)/(g.Max-g.Best))
}

// At returns the wet hours needed at a mean temperature: WetMin/f(T), at most
// WetMax, and +Inf where f(T) is 0. A literal minimum of the two would there
// give WetMax and infect in frost.
func (g Generic) At(t float64) float64 {
	f := g.Response(t)
	if f <= 0 {
		return math.Inf(1)
	}
	return min(g.WetMin/f, g.WetMax)
}

// GenericNeed answers for whole hours without computing powers: between which
// temperatures is so many hours enough? f rises to Best and falls from there, so
// the answer is one interval.
type GenericNeed struct {
	least     int
	low, high []float64 // by hours less least, ends included
}

// Need makes the lookup.
func (g Generic) Need() *GenericNeed {
	n := &GenericNeed{least: max(1, int(math.Ceil(g.WetMin-slack)))}
	top := max(n.least, int(math.Ceil(g.WetMax-slack)))
	for h := n.least; h <= top; h++ {
		met := func(t float64) bool { return enough(h, g.At(t)) }
		n.low = append(n.low, edge(g.Min, g.Best, met))
		n.high = append(n.high, edge(g.Max, g.Best, met))
	}
	return n
}

// edge returns the number nearest to out, on the way to in, for which met holds;
// met holds at in and changes once.
func edge(out, in float64, met func(float64) bool) float64 {
	if met(out) {
		return out
	}
	for { // ends when two numbers have none between them
		mid := out + (in-out)/2
		if mid == out || mid == in {
			break
		}
		if met(mid) {
			in = mid
		} else {
			out = mid
		}
	}
	return in
}

// Least returns the fewest hours that can be enough.
func (n *GenericNeed) Least() int { return n.least }

// Met says whether so many wet hours at a mean temperature are enough.
func (n *GenericNeed) Met(hours int, mean float64) bool {
	return within(n.low, n.high, hours-n.least, mean)
}

// Limits returns between which means, C, both included, so many hours are
// enough, by hours from Least on; the last holds for more hours too.
func (n *GenericNeed) Limits() (low, high []float64) { return n.low, n.high }

// Validate says what makes the numbers impossible, or nil.
func (g Generic) Validate() error {
	if !(g.Min < g.Best && g.Best < g.Max) {
		return fmt.Errorf("temperatures %g, %g and %g do not rise", g.Min, g.Best, g.Max)
	}
	if !(g.WetMin > 0 && g.WetMin <= g.WetMax) {
		return fmt.Errorf("wet hours %g to %g are not a range above 0", g.WetMin, g.WetMax)
	}
	return nil
}
