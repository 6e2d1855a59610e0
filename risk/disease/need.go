package disease

import "math"

// HoursNeeded is a table of the wet hours that infection needs by mean
// temperature, in rising order of temperature. Below the first row and above the
// last nothing infects.
type HoursNeeded struct {
	Rows       []HoursRow
	Between    Between
	Step       float64 // the mean is first rounded half up to this; 0 is not
	Fahrenheit bool    // rows are in F
}

// HoursRow is the hours needed from From to To, both included.
type HoursRow struct {
	From, To float64
	Hours    float64
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
	if h.Fahrenheit {
		mean = toF(mean)
	}
	if h.Step > 0 {
		mean = float64(steps(mean, h.Step)) * h.Step
	}
	for i := range h.Rows {
		r := &h.Rows[i]
		if mean > r.To+1e-9 {
			continue
		}
		switch {
		case mean >= r.From-1e-9:
			return r.Hours
		case i == 0:
			return math.Inf(1)
		}
		p := &h.Rows[i-1]
		switch h.Between {
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
func (h *HoursNeeded) Met(hours int, mean float64) bool { return enough(hours, h.At(mean)) }

// Least returns the fewest whole hours that can be enough at any temperature.
func (h *HoursNeeded) Least() int {
	least := math.Inf(1)
	for _, r := range h.Rows {
		least = min(least, r.Hours)
	}
	return int(math.Ceil(least - slack))
}

// slack keeps a need of 9 hours that is computed as 9.0000000001 from asking for
// a tenth hour.
const slack = 1e-9

func enough(hours int, need float64) bool { return float64(hours)+slack >= need }
