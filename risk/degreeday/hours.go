package degreeday

import (
	"fmt"
	"math"

	"plotwarden/weather"
)

// Hours returns the degree-days of one day from the temperatures of its hours,
// in any number and order: the mean over the known hours of the rate above the
// lower threshold, less what the cutoff takes. NaN hours are unknown; known
// counts the others. It is NaN when none is known; whether a day with few known
// hours counts is the caller's to say (weather.MinHours is the house rule). As
// with the curves, an intermediate cutoff is floored at 0 over the day and not
// hour by hour. The rule must be valid; its method is not looked at.
func (r Rule) Hours(temps []float64) (dd float64, known int) {
	h := r.hourly()
	return h.day(temps)
}

// hourly is the rate of an hour, resolved for loops.
type hourly struct {
	cut    cut
	lo, up float64
}

func (r Rule) hourly() hourly {
	h := hourly{cut: cuts[r.Cutoff], lo: r.Lower, up: math.Inf(1)}
	if h.cut != cutNone {
		h.up = r.Upper
	}
	return h
}

func (h *hourly) day(temps []float64) (dd float64, known int) {
	if h.cut == cutNone && len(temps) > 0 {
		if sum, all := excess(temps, h.lo); all {
			return sum / float64(len(temps)), len(temps)
		}
	}
	lo, up := h.lo, h.up
	sum := 0.0
	for _, t := range temps {
		if t != t {
			continue
		}
		known++
		if t <= lo {
			continue
		}
		if t <= up {
			sum += t - lo
			continue
		}
		switch h.cut {
		case cutHorizontal:
			sum += up - lo
		case cutIntermediate:
			sum += 2*up - lo - t
		}
	}
	if known == 0 {
		return math.NaN(), 0
	}
	return max(0, sum/float64(known)), known
}

// excess sums what hours have above a temperature and says whether all are known.
// The sign bit of a difference clears it: a branch would be wrong twice a day.
func excess(temps []float64, above float64) (sum float64, all bool) {
	plain := 0.0 // not a number when one of them is not; sum may lose it with a sign bit
	for _, t := range temps {
		plain += t
		b := math.Float64bits(t - above)
		sum += math.Float64frombits(b &^ uint64(int64(b)>>63))
	}
	return sum, plain == plain
}

// Windows computes the days that ws cuts out of an hourly column of
// temperatures (Series.Column of weather.Temp and Series.Windows) and allocates
// nothing. out[i] is NaN when fewer than weather.MinHours hours of ws[i] are
// known. It fails when the rule is not valid or not hourly, or out is too short.
func (r Rule) Windows(temps []float64, ws []weather.Window, out []float64) error {
	if err := r.Validate(); err != nil {
		return err
	}
	if r.Method != Hourly {
		return fmt.Errorf("method %s works on daily extremes, not on hours", r.Method)
	}
	if len(out) < len(ws) {
		return fmt.Errorf("degree-days of %d days into room for %d", len(ws), len(out))
	}
	h := r.hourly()
	for i, w := range ws {
		from, to := max(0, w.From), min(w.To, len(temps))
		out[i] = math.NaN()
		if from < to {
			if dd, known := h.day(temps[from:to]); known >= weather.MinHours {
				out[i] = dd
			}
		}
	}
	return nil
}
