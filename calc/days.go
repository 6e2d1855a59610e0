package calc

import (
	"fmt"
	"io"

	"plotwarden/civil"
	"plotwarden/risk/degreeday"
	"plotwarden/weather"
)

// maxDays bounds the days from the first row to the last: four hundred years.
const maxDays = 146_097

// Days are the daily records of a file.
type Days struct {
	Name string
	// List has every day from the first row to the last; those without a row
	// are missing. Celsius, whatever the unit of the file.
	List []weather.Day
	Gaps []Gap
}

// Gap is a run of days or hours that the file has no row for.
type Gap struct {
	Count int
	What  string // "day" or "hour"
	After string // the row before it, as written
}

func (g Gap) String() string {
	if g.Count == 1 {
		return fmt.Sprintf("1 %s after %s has no row and is unknown", g.What, g.After)
	}
	return fmt.Sprintf("%d %ss after %s have no row and are unknown", g.Count, g.What, g.After)
}

// ReadDays reads a file of days with temperatures in a unit. need are the
// columns that must be there beside the extremes of temperature: rain, wind or
// soil temperature. The error is strict.Faults.
func ReadDays(name string, r io.Reader, unit degreeday.Unit, need ...weather.Var) (*Days, error) {
	low, high := tempC.low, tempC.high
	if unit == degreeday.Fahrenheit {
		low, high = degreeday.CtoF(low), degreeday.CtoF(high)
	}
	tmin, tmax := column{"tmin", low, high}, column{"tmax", low, high}
	must := []string{"date", "tmin", "tmax"}
	for _, v := range need {
		must = append(must, ColumnOf(v))
	}
	t := open(name, r, []string{"date", "tmin", "tmax", "rain_mm", "wind_ms", "soil_c"}, must)
	out := &Days{Name: name}
	if len(t.faults) > 0 {
		return nil, t.err()
	}
	at := func(c string) int { return t.column(c) }
	for t.next() {
		date, ok := t.date(at("date"), out.List)
		if !ok {
			continue
		}
		d := weather.NewDay(date)
		d.Hours, d.Kind = 24, weather.Nearby
		minOK := t.into(&d.Min, at("tmin"), tmin)
		maxOK := t.into(&d.Max, at("tmax"), tmax)
		t.into(&d.Rain, at("rain_mm"), rainMm)
		t.into(&d.Wind, at("wind_ms"), windMs)
		t.into(&d.Soil, at("soil_c"), soilC)
		if minOK && maxOK && d.Min > d.Max {
			t.fault(at("tmin"), "tmin %g is above tmax %g", d.Min, d.Max)
		}
		d.Min, d.Max = unit.ToC(d.Min), unit.ToC(d.Max)
		out.add(d)
	}
	if len(out.List) == 0 && len(t.faults) == 0 {
		t.fault(0, "the file has no rows")
	}
	if err := t.err(); err != nil {
		return nil, err
	}
	return out, nil
}

// date reads the row's date and holds it against the row before.
func (t *table) date(i int, before []weather.Day) (civil.Date, bool) {
	d, err := civil.Parse(shown(t.field(i)))
	if err != nil {
		t.fault(i, "date: %v", err)
		return 0, false
	}
	if len(before) == 0 {
		return d, true
	}
	switch last := before[len(before)-1].Date; {
	case d == last:
		t.fault(i, "date %s stands twice", d)
	case d < last:
		t.fault(i, "date %s is before %s, the row above it; put the rows in order", d, last)
	case d.Sub(before[0].Date) >= maxDays:
		t.fault(i, "date %s is more than %d days after the first row", d, maxDays)
	default:
		return d, true
	}
	return 0, false
}

// into reads a number of column i, if the file has it.
func (t *table) into(to *float64, i int, c column) bool {
	if i < 0 {
		return true
	}
	v, ok := t.number(i, c)
	if ok {
		*to = v
	}
	return ok
}

func (d *Days) add(day weather.Day) {
	if n := len(d.List); n > 0 {
		last := d.List[n-1].Date
		if missing := day.Date.Sub(last) - 1; missing > 0 {
			d.Gaps = append(d.Gaps, Gap{missing, "day", last.String()})
			for e := last + 1; e < day.Date; e++ {
				d.List = append(d.List, weather.NewDay(e))
			}
		}
	}
	d.List = append(d.List, day)
}
