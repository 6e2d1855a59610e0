package disease

import "math"

// Band is a row of a severity table: mean temperatures from From to To, both
// included after rounding, in the table's unit.
type Band struct {
	From, To float64
	Steps    []Step // in rising order of hours
}

// Step is the value of a band from a number of hours up.
type Step struct {
	Hours int
	Value float64
}

// Table is a severity table: bands of mean temperature against hours. Use
// NewTable to make one.
type Table struct {
	step   float64
	inF    bool
	bands  []band
	rows   [][maxHours + 1]float64 // values of each band by hours; the first row is that of no band
	row    []uint8                 // by rounded temperature from low on: index into rows
	low    int
	most   [maxHours + 1]float64 // the most that any band gives for so many hours
	split  [maxHours + 1]float64 // the most that so many hours give when cut into runs at will
	parted [maxHours + 1]float64 // the same with a dry hour between two runs, in a day of so many hours
}

// band has its limits as whole numbers of rounding steps, so that a mean and a
// limit compare exactly.
type band struct {
	from, to int
	steps    []Step
}

const maxHours = 25 // of a day, on that of a clock change

// NewTable makes a table of bands in rising order of temperature, without
// overlap. A mean is rounded half up to a multiple of step before its band is
// looked up: tables are printed with whole numbers and leave gaps between bands
// (17 and 18 C), so that a real mean needs one stated rule. Bands of
// temperatures in Fahrenheit take the mean in Fahrenheit. step must be above 0.
func NewTable(step float64, fahrenheit bool, bands []Band) *Table {
	t := &Table{step: step, inF: fahrenheit}
	for _, b := range bands {
		t.bands = append(t.bands, band{steps(b.From, step), steps(b.To, step), b.Steps})
	}
	t.rows = make([][maxHours + 1]float64, 1, len(bands)+1)
	for i, b := range t.bands {
		if i == 0 {
			t.low = b.from
		}
		var row [maxHours + 1]float64
		for h := range row {
			row[h] = b.value(h)
		}
		t.rows = append(t.rows, row)
		for len(t.row) < b.from-t.low {
			t.row = append(t.row, 0)
		}
		for len(t.row) <= b.to-t.low {
			t.row = append(t.row, uint8(i+1))
		}
	}
	for h := 1; h <= maxHours; h++ {
		for _, b := range t.bands {
			t.most[h] = max(t.most[h], b.value(h))
		}
		for run := 1; run <= h; run++ {
			t.split[h] = max(t.split[h], t.most[run]+t.split[h-run])
			t.parted[h] = max(t.parted[h], t.most[run]+t.parted[max(0, h-run-1)])
		}
	}
	return t
}

// steps rounds half up to whole steps. The small part keeps a half that its
// binary form puts just below (11.65 at a step of 0.1) from going down.
func steps(x, step float64) int {
	if step != 1 { // the step of most tables
		x /= step
	}
	return int(math.Floor(x + 0.5 + 1e-9))
}

func (b *band) value(hours int) float64 {
	v := 0.0
	for _, s := range b.steps {
		if hours < s.Hours {
			break
		}
		v = s.Value
	}
	return v
}

func (t *Table) round(mean float64) int {
	if t.inF {
		mean = toF(mean)
	}
	return steps(mean, t.step)
}

// Value returns the value for hours at a mean temperature in C: 0 outside all
// bands, below the first step, and for a mean that is not a number. More than 25 hours,
// the most that a day has, score as 25.
func (t *Table) Value(mean float64, hours int) float64 {
	if !(mean > -273) { // or not a number
		return 0
	}
	k := t.round(mean) - t.low
	if k < 0 || k >= len(t.row) {
		return 0
	}
	return t.rows[t.row[k]][max(0, min(hours, maxHours))]
}

// Span returns the least and the greatest value over hours from..to and mean
// temperatures from low to high, C. Values rise with hours, so the corners decide.
func (t *Table) Span(from, to int, low, high float64) (least, most float64) {
	a, z := t.round(low), t.round(high)
	least = math.Inf(1)
	next := a // the first rounded temperature not yet looked at
	for i := range t.bands {
		b := &t.bands[i]
		if b.to < a || b.from > z {
			continue
		}
		if b.from > next {
			least = 0
		}
		least, most = min(least, b.value(from)), max(most, b.value(to))
		next = b.to + 1
	}
	if next <= z {
		least = 0
	}
	return least, most
}

// Most returns the greatest value of any band for a run of hours.
func (t *Table) Most(hours int) float64 { return t.most[max(0, min(hours, maxHours))] }

// MostOfRuns returns the greatest sum of values that hours wet hours in a day of
// day hours can give when each unbroken run is scored on its own.
func (t *Table) MostOfRuns(hours, day int) float64 {
	return min(t.split[max(0, min(hours, maxHours))], t.parted[max(0, min(day, maxHours))])
}
