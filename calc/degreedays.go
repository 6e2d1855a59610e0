package calc

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"time"

	"plotwarden/civil"
	"plotwarden/risk/degreeday"
	"plotwarden/weather"
)

// DegreeDays writes date,dd,total for every day from the first to the last. dd
// is empty on an unknown day, which adds nothing to the total. Results are in
// degree-days of unit. The notes say what makes a total less than whole; they
// are for the reader and no part of the output.
func (d *Days) DegreeDays(w io.Writer, rule degreeday.Rule, unit degreeday.Unit) (notes []string, err error) {
	dd := make([]float64, len(d.List))
	if err := rule.Days(d.List, dd); err != nil {
		return nil, fmt.Errorf("degree-days of %s: %w", d.Name, err)
	}
	dates := make([]civil.Date, len(d.List))
	var provisional []civil.Date
	for i := range d.List {
		dates[i] = d.List[i].Date
		if rule.Provisional(d.List, i) {
			provisional = append(provisional, dates[i])
		}
	}
	notes = gapNotes(d.Gaps)
	notes = append(notes, incomplete(dates, dd)...)
	if n := len(provisional); n > 0 {
		last := provisional[n-1]
		if n == 1 {
			notes = append(notes, fmt.Sprintf("the value of %s is provisional: method %s needs the minimum of the day after it", last, rule.Method))
		} else {
			notes = append(notes, fmt.Sprintf("the values of %d days, the last %s, are provisional: method %s needs the minimum of the day after them", n, last, rule.Method))
		}
	}
	return notes, writeDegreeDays(w, dates, dd, unit)
}

// DegreeDays writes date,dd,total for every day of loc that the hours touch. A
// day with fewer than weather.MinHours known hours is unknown.
func (h *Hours) DegreeDays(w io.Writer, rule degreeday.Rule, unit degreeday.Unit, loc *time.Location) (notes []string, err error) {
	days := h.Series.Windows(loc, 0, false)
	dd := make([]float64, len(days))
	if err := rule.Windows(h.Series.Column(weather.Temp), days, dd); err != nil {
		return nil, fmt.Errorf("degree-days of %s: %w", h.Name, err)
	}
	dates := make([]civil.Date, len(days))
	for i := range days {
		dates[i] = days[i].Date
	}
	notes = append(gapNotes(h.Gaps), incomplete(dates, dd)...)
	return notes, writeDegreeDays(w, dates, dd, unit)
}

func gapNotes(gaps []Gap) []string {
	const most = 5
	var notes []string
	for i, g := range gaps {
		if i == most {
			notes = append(notes, fmt.Sprintf("and %d more gaps", len(gaps)-most))
			break
		}
		notes = append(notes, g.String())
	}
	return notes
}

func incomplete(dates []civil.Date, dd []float64) []string {
	count, first := 0, civil.Date(0)
	for i, v := range dd {
		if math.IsNaN(v) {
			if count == 0 {
				first = dates[i]
			}
			count++
		}
	}
	if count == 0 {
		return nil
	}
	return []string{fmt.Sprintf("the total is incomplete from %s on: %s", first, plural(count, "day is unknown and counts as nothing", "days are unknown and count as nothing"))}
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func writeDegreeDays(w io.Writer, dates []civil.Date, dd []float64, unit degreeday.Unit) error {
	total := make([]float64, len(dd))
	degreeday.Running(dd, total)
	b := bufio.NewWriter(w)
	fmt.Fprintln(b, "date,dd,total")
	for i, v := range dd {
		fmt.Fprintf(b, "%s,%s,%s\n", dates[i], format(unit.DiffFromC(v)), format(unit.DiffFromC(total[i])))
	}
	return flush(b)
}

// ErrWrite marks a failure to write the result; all other errors of this
// package are about what was given to it.
var ErrWrite = errors.New("write the result")

// flush reports what the writes before it ran into.
func flush(b *bufio.Writer) error { return written(b.Flush()) }

func written(err error) error {
	if err != nil {
		return fmt.Errorf("%w: %w", ErrWrite, err)
	}
	return nil
}
