package weather

import (
	"slices"
	"time"
)

// Doubt is a fault of a whole stretch of a series, found by comparison with
// another series or with the sun. It is for the owner to look at; a sure one can
// be set aside.
type Doubt struct {
	Fault    Fault         // FaultUnit or FaultClock
	Vars     []Var         // the columns it touches
	From, To time.Time     // the stretch, To not included
	Late     time.Duration // FaultClock: the series' times are late by this; negative is early
	Sure     bool          // no weather explains it
	Reason   string
}

// Doubts compares a series with the sun at lat, lon (degrees north and east) and
// with a reference for the same place, such as a service's analysis, and returns
// what it finds, in the order of time. The reference may be nil. Interpolated
// and modelled values of either series tell nothing: leave them out. Look before
// Check does, which takes out the values that show a wrong unit best.
func Doubts(s, ref *Series, lat, lon float64) []Doubt {
	out := clockAgainstSun(s, lat, lon)
	if ref != nil {
		out = append(out, unitsAgainst(s, ref)...)
		out = append(out, clockAgainst(s, ref)...)
	}
	slices.SortStableFunc(out, func(a, b Doubt) int { return a.From.Compare(b.From) })
	return out
}

// SetAside returns a copy of the series without the values that the sure doubts
// touch, and those values.
func SetAside(s *Series, doubts []Doubt) (*Series, []Reject) {
	out := s.Slice(0, s.Len())
	var rejects []Reject
	for _, d := range doubts {
		if !d.Sure {
			continue
		}
		for _, v := range d.Vars {
			for i := max(0, out.Index(d.From)); i < min(out.Len(), out.Index(d.To)); i++ {
				rejects = out.setAside(rejects, v, i, d.Fault, d.Reason)
			}
		}
	}
	sortRejects(rejects)
	return out, rejects
}

// The stretches in which doubts are looked for.
const (
	stretch      = 28 * 24 // hours
	stretchLeast = 14 * 24
)

// stretches cuts n hours into runs of stretch, the last one of stretchLeast to
// almost stretch + stretchLeast.
func stretches(n int) [][2]int {
	var out [][2]int
	for from := 0; n-from >= stretchLeast; {
		to := from + stretch
		if n-to < stretchLeast {
			to = n
		}
		out = append(out, [2]int{from, to})
		from = to
	}
	return out
}

// runs calls found for each run of equal keys other than 0, with the first and
// last stretch of the run.
func runs(keys []int, found func(first, last, key int)) {
	for i := 0; i < len(keys); {
		j := i
		for j+1 < len(keys) && keys[j+1] == keys[i] {
			j++
		}
		if keys[i] != 0 {
			found(i, j, keys[i])
		}
		i = j + 1
	}
}

func median(x []float64) float64 {
	if len(x) == 0 {
		return missing
	}
	slices.Sort(x)
	if len(x)%2 == 1 {
		return x[len(x)/2]
	}
	return (x[len(x)/2-1] + x[len(x)/2]) / 2
}
