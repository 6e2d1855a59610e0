package weather

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// Row is one hour of raw input: what a file or a station says of the hour that
// begins at Time. NaN is missing.
type Row struct {
	Time   time.Time
	Values [NumVars]float64
}

// NewRow returns the row with every value missing.
func NewRow(t time.Time) Row {
	r := Row{Time: t}
	for v := range r.Values {
		r.Values[v] = math.NaN()
	}
	return r
}

// Assembly is raw input put in order.
type Assembly struct {
	Series     *Series
	Rejects    []Reject
	Duplicates int // rows of an hour that an earlier row had
	OutOfOrder int // rows whose hour lies before that of the row above
}

// maxSpan is how far, in hours, a row may lie from the middle row: wider is a
// broken clock and would make a series of mostly nothing.
const maxSpan = 50 * 8766

// Assemble makes a series out of rows in any order, all with origin o. Of two
// rows of one hour the later in the input counts, value by value, as services
// send an hour again when it is corrected; a differing earlier value is set
// aside. Rows that are not on the hour, or more than 50 years from the middle
// row, are set aside.
func Assemble(rows []Row, o Origin) Assembly {
	var out Assembly
	refuse := func(r Row, reason string) {
		for v := range NumVars {
			if x := r.Values[v]; !math.IsNaN(x) {
				out.Rejects = append(out.Rejects, Reject{Time: r.Time.UTC(), Var: v, Value: x, Origin: o, Fault: FaultTime, Reason: reason})
			}
		}
	}
	middle := middleHour(rows)
	kept := make([]Row, 0, len(rows))
	var first, last int64
	for _, r := range rows {
		h := floorHour(r.Time.Unix())
		switch {
		case r.Time.Unix()%3600 != 0 || r.Time.Nanosecond() != 0:
			refuse(r, "its time is not on the hour")
		case h < middle-maxSpan || h > middle+maxSpan:
			refuse(r, "its time is more than 50 years from the other rows")
		default:
			if len(kept) == 0 {
				first, last = h, h
			} else if h < floorHour(kept[len(kept)-1].Time.Unix()) {
				out.OutOfOrder++
			}
			first, last = min(first, h), max(last, h)
			kept = append(kept, r)
		}
	}
	if len(kept) == 0 {
		out.Series = NewSeries(time.Unix(0, 0), 0)
		return out
	}
	out.Series = NewSeries(time.Unix(first*3600, 0), int(last-first)+1)
	handle, err := out.Series.AddOrigin(o)
	if err != nil { // a new series has room
		panic(err)
	}
	seen := make([]bool, out.Series.Len())
	for _, r := range kept {
		i := out.Series.Index(r.Time)
		if seen[i] {
			out.Duplicates++
		}
		seen[i] = true
		out.put(r, i, handle)
	}
	sortRejects(out.Rejects)
	return out
}

func (a *Assembly) put(r Row, i int, handle uint8) {
	for v := range NumVars {
		x, have := r.Values[v], a.Series.Value(v, i)
		if math.IsNaN(x) {
			continue
		}
		if !math.IsNaN(have) && have != x {
			a.Rejects = a.Series.setAside(a.Rejects, v, i, FaultDuplicate, fmt.Sprintf("a later record of the hour says %s %s", num(x), v.Unit()))
		}
		a.Series.Set(v, i, x, handle)
	}
}

func middleHour(rows []Row) int64 {
	if len(rows) == 0 {
		return 0
	}
	hours := make([]int64, len(rows))
	for i, r := range rows {
		hours[i] = floorHour(r.Time.Unix())
	}
	slices.Sort(hours)
	return hours[len(hours)/2]
}
