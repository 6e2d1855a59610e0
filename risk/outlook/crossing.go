package outlook

import "sort"

// countCrossings counts the days on which the ways ahead reach a total.
func (f *Fan) countCrossings(h *histogram, threshold float64) {
	if f.sums && f.total >= threshold {
		h.add(0, f.Size())
		return
	}
	each := max(1, len(f.years))
	for from := 0; from < len(f.runs); {
		length := len(f.runs[from].totals)
		to := from
		for to < len(f.runs) && len(f.runs[to].totals) == length {
			to++
		}
		rest := f.runs[from:to]
		if f.sums {
			// The furthest on stand first: those that cross within the forecast.
			for len(rest) > 0 && length > 0 && rest[0].end >= threshold {
				h.add(firstAt(rest[0].totals, threshold)+1, each)
				rest = rest[1:]
			}
			f.sumsInYears(h, rest, length, threshold)
		} else {
			f.levelsInYears(h, rest, length, threshold)
		}
		from = to
	}
}

// firstAt returns the index of the first total that reaches the threshold; the
// totals rise.
func firstAt(totals []float64, threshold float64) int {
	return sort.Search(len(totals), func(i int) bool { return totals[i] >= threshold })
}

// sumsInYears goes on from runs of one length, the furthest on first, through
// each year. The first run's day is searched for; the others follow within days
// of it, so that steps find them.
func (f *Fan) sumsInYears(h *histogram, runs []run, length int, threshold float64) {
	if len(runs) == 0 {
		return
	}
	if len(f.years) == 0 {
		h.never(len(runs))
		return
	}
	for y := range f.years {
		totals := f.years[y].totals
		if length >= len(totals) {
			h.never(len(runs))
			continue
		}
		last := min(len(totals)-1, length+Horizon)
		at := totals[length]
		k := min(last, length+1+firstAt(totals[length+1:last+1], at+threshold-runs[0].end))
		for i := range runs {
			need := at + threshold - runs[i].end
			carry := max(runs[i].carry, -leastCarry*(totals[min(last, length+7)]-at))
			for k < last && totals[k]+carry*faded[k-length] < need {
				k++
			}
			for k > length+1 && totals[k-1]+carry*faded[k-1-length] >= need {
				k--
			}
			if totals[k]+carry*faded[k-length] < need {
				h.never(1)
			} else {
				h.add(k, 1)
			}
		}
	}
}

// levelsInYears is for totals that are no running sum: a level, a call, the sum
// of the last days. A year then says when its own total stood at the threshold.
func (f *Fan) levelsInYears(h *histogram, runs []run, length int, threshold float64) {
	for r := range runs {
		day := -1
		for i, t := range runs[r].totals {
			if t >= threshold {
				day = i + 1
				break
			}
		}
		if day > 0 {
			h.add(day, max(1, len(f.years)))
			continue
		}
		if len(f.years) == 0 {
			h.never(1)
		}
		for y := range f.years {
			totals := f.years[y].totals
			k := length + 1
			for k < len(totals) && k <= length+Horizon && totals[k] < threshold {
				k++
			}
			if k < len(totals) && k <= length+Horizon {
				h.add(k, 1)
			} else {
				h.never(1)
			}
		}
	}
}
