package disease

import "math"

// HoursNeeded is a table of the wet hours that infection needs by mean
// temperature. Below the first row and above the last nothing infects. Use
// NewHoursNeeded to make one.
type HoursNeeded struct {
	rows    []HoursRow
	between Between
	step    float64
	inF     bool
	least   int
	begin   float64 // temperature of the first of first
	first   []uint8 // by whole degrees above begin: the first row that can hold
	// Between which means, C, so many hours are enough, by hours less least; nil
	// when that is not one interval.
	low, high []float64
}

// HoursRow is the hours needed from From to To, both included.
type HoursRow struct {
	From, To float64
	Hours    float64
}

// NewHoursNeeded makes a table of at least one and at most 255 rows in rising
// order of temperature, in F when fahrenheit. A mean is first rounded half up to
// a multiple of step; 0 does not round.
func NewHoursNeeded(rows []HoursRow, between Between, step float64, fahrenheit bool) *HoursNeeded {
	h := &HoursNeeded{rows: rows, between: between, step: step, inF: fahrenheit, begin: rows[0].From}
	least := math.Inf(1)
	for _, r := range rows {
		least = min(least, r.Hours)
	}
	h.least = int(math.Ceil(least - slack))
	row := 0
	for t := h.begin; t <= rows[len(rows)-1].To; t++ {
		for row < len(rows)-1 && rows[row].To < t-slack {
			row++
		}
		h.first = append(h.first, uint8(row))
	}
	h.intervals()
	return h
}

// intervals finds between which means so many hours are enough, when the needed
// hours fall to one lowest row and rise from there, as those of all real tables.
func (h *HoursNeeded) intervals() {
	best := 0
	for i, r := range h.rows {
		if r.Hours < h.rows[best].Hours {
			best = i
		}
	}
	longest := 0.0
	for i, r := range h.rows {
		longest = max(longest, r.Hours)
		if i > 0 && (i <= best) != (r.Hours <= h.rows[i-1].Hours) && r.Hours != h.rows[i-1].Hours {
			return
		}
	}
	in, below, above := h.rows[best].From, h.begin-h.step-1, h.rows[len(h.rows)-1].To+h.step+1
	if h.inF {
		in, below, above = (in-32)/1.8, (below-32)/1.8, (above-32)/1.8
	}
	if !enough(h.least, h.At(in)) { // rows that rounding passes by
		return
	}
	for n := h.least; n <= int(math.Ceil(longest)); n++ {
		met := func(t float64) bool { return enough(n, h.At(t)) }
		h.low, h.high = append(h.low, edge(below, in, met)), append(h.high, edge(above, in, met))
	}
}

// Between says what holds between two rows.
type Between string

// The choices.
const (
	Interpolate Between = "interpolate"
	Longer      Between = "longer"
	Shorter     Between = "shorter"
)

// At returns the hours needed at a mean temperature in C, and +Inf where nothing
// infects.
func (h *HoursNeeded) At(mean float64) float64 {
	if h.inF {
		mean = toF(mean)
	}
	if h.step > 0 {
		mean = float64(steps(mean, h.step)) * h.step
	}
	// not: a mean that is not a number fails both.
	if !(mean >= h.begin-slack && mean <= h.rows[len(h.rows)-1].To+slack) {
		return math.Inf(1)
	}
	k := max(0, min(int(mean-h.begin), len(h.first)-1))
	for i := int(h.first[k]); i < len(h.rows); i++ {
		r := &h.rows[i]
		if mean > r.To+slack {
			continue
		}
		if mean >= r.From-slack || i == 0 {
			return r.Hours
		}
		p := &h.rows[i-1]
		switch h.between {
		case Longer:
			return max(p.Hours, r.Hours)
		case Shorter:
			return min(p.Hours, r.Hours)
		}
		return p.Hours + (r.Hours-p.Hours)*(mean-p.To)/(r.From-p.To)
	}
	return math.Inf(1)
}

// Met says whether so many wet hours at a mean temperature, C, are enough.
func (h *HoursNeeded) Met(hours int, mean float64) bool {
	if h.low == nil {
		return enough(hours, h.At(mean))
	}
	return within(h.low, h.high, hours-h.least, mean)
}

// Limits returns between which means, C, both included, so many hours are
// enough, by hours from Least on; the last holds for more hours too. Both are nil
// when that is not one interval.
func (h *HoursNeeded) Limits() (low, high []float64) { return h.low, h.high }

func within(low, high []float64, i int, mean float64) bool {
	i = min(i, len(low)-1)
	return i >= 0 && mean >= low[i] && mean <= high[i]
}

// Least returns the fewest whole hours that can be enough at any temperature.
func (h *HoursNeeded) Least() int { return h.least }

// slack keeps a need of 9 hours that is computed as 9.0000000001 from asking for
// a tenth hour.
const slack = 1e-9

func enough(hours int, need float64) bool { return float64(hours)+slack >= need }
