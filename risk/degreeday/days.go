package degreeday

import (
	"fmt"
	"math"

	"plotwarden/weather"
)

// Days computes a run of days at once and allocates nothing: out[i] is the
// value of days[i], NaN where the day is not known. The days must be in order;
// a double method joins a day to the next only when that is the following date.
// The last day of a double method, and a day before a gap, hold the single
// method's value: see Provisional. Days fails on a rule that Day fails on, when
// out is shorter than days, and on a day whose minimum exceeds its maximum,
// which it names; out is then filled, with that day as NaN.
func (r Rule) Days(days []weather.Day, out []float64) error {
	p, err := r.prepare()
	if err != nil {
		return err
	}
	if len(out) < len(days) {
		return fmt.Errorf("degree-days of %d days into room for %d", len(days), len(out))
	}
	var bad error
	for i := range days {
		d := &days[i]
		if span := d.Max - d.Min; !(span >= 0 && span <= math.MaxFloat64) {
			out[i] = math.NaN() // unknown, or wrong
			if e := checkDay(d.Min, d.Max); e != nil && bad == nil {
				bad = fmt.Errorf("%s: %w", d.Date, e)
			}
			continue
		}
		if !p.double {
			out[i] = p.single(d.Min, d.Max)
			continue
		}
		next := math.NaN()
		if i+1 < len(days) && days[i+1].Date == d.Date+1 {
			next = days[i+1].Min
		}
		out[i] = p.day(d.Min, d.Max, next)
	}
	return bad
}

// Provisional says whether the value of days[i] will change when the next day
// is known.
func (r Rule) Provisional(days []weather.Day, i int) bool {
	if !r.Method.Double() || math.IsNaN(days[i].Min) || math.IsNaN(days[i].Max) {
		return false
	}
	return i+1 >= len(days) || days[i+1].Date != days[i].Date+1 || math.IsNaN(days[i+1].Min)
}

// Running writes the running sum of daily values to total, which may be dd
// itself, and returns how many of the days are unknown. An unknown day adds
// nothing, so with any of them the sum is too low by what those days had:
// incomplete, to be shown as such. Nothing is rounded.
func Running(dd, total []float64) (unknown int) {
	sum := 0.0
	for i, v := range dd {
		if math.IsNaN(v) {
			unknown++
		} else {
			sum += v
		}
		total[i] = sum
	}
	return unknown
}
