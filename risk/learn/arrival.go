package learn

import (
	"fmt"
	"math"

	"plotwarden/civil"
)

// Arrival is what a log says of when a threat comes.
type Arrival struct {
	Threat, Model, Unit string
	Ways                []Way // all four, in the order of Names
	Chosen              Name  // the one that outlooks use
	Why                 string
	Finds               int // seasons with a find
	Censored            int // seasons that say only "not before"
	Neighbours          int // seasons of other plots that moved what was expected

	seasons []Season
	start   civil.MonthDay
}

// Way returns a way by its name.
func (a *Arrival) Way(n Name) *Way {
	for i := range a.Ways {
		if a.Ways[i].Name == n {
			return &a.Ways[i]
		}
	}
	return nil
}

// SeasonStart returns the day of the year from which the calendar counts.
func (a *Arrival) SeasonStart() civil.MonthDay { return a.start }

// Best returns the chosen way.
func (a *Arrival) Best() *Way { return a.Way(a.Chosen) }

// choose takes the way with the smallest error. Another is taken before the
// blend, or without one before the calendar, only when it is better by more than
// twice the standard error of the difference: of a handful of seasons the best by
// a hair is best by chance.
func (a *Arrival) choose() {
	blend, local, calendar := a.Way(Blend), a.Way(Local), a.Way(Calendar)
	start := blend
	if !blend.Usable {
		start = calendar
	}
	if !start.Usable {
		if p := a.Way(Published); p.Usable {
			a.Chosen, a.Why = Published, "the log has no find that could move it"
		}
		return
	}
	a.Chosen = start.Name
	switch {
	case len(start.Tries) < ChooseFrom && blend.Usable:
		a.Why = fmt.Sprintf("with %s there is too little to choose by; the blend keeps to the published threshold where the log is short", plural(a.Finds, "find"))
		return
	case len(start.Tries) < FewSeasons && local.Usable:
		a.Why = fmt.Sprintf("no published threshold, and with fewer than %d seasons the calendar mean is safer than a threshold of one's own", FewSeasons)
		return
	case !blend.Usable && !local.Usable:
		a.Why = "no model counts for this threat: the log's dates alone"
		return
	}
	best := start
	for i := range a.Ways {
		if w := &a.Ways[i]; w.Usable && w.Error < best.Error && better(w, start) {
			best = w
		}
	}
	a.Chosen = best.Name
	a.Why = fmt.Sprintf("its error over %s, each predicted from the others, is the smallest or within chance of it", plural(len(best.Tries), "season"))
}

// better says whether a way's misses are smaller than another's by more than
// twice the standard error of the mean difference, over the seasons that both
// were held against.
func better(w, than *Way) bool {
	var diff []float64
	for _, t := range w.Tries {
		for _, u := range than.Tries {
			if t.Year == u.Year {
				diff = append(diff, math.Abs(u.Off)-math.Abs(t.Off))
				break
			}
		}
	}
	n := float64(len(diff))
	if n < ChooseFrom {
		return false
	}
	mean, square := 0.0, 0.0
	for _, d := range diff {
		mean += d / n
	}
	for _, d := range diff {
		square += (d - mean) * (d - mean)
	}
	return mean > 2*math.Sqrt(square/(n-1)/n)
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}
