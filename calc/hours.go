package calc

import (
	"fmt"
	"io"
	"time"

	"plotwarden/strict"
	"plotwarden/weather"
)

// maxHours bounds the hours from the first row to the last: a hundred years.
const maxHours = 876_600

// Hours are the hourly records of a file.
type Hours struct {
	Name   string
	Series *weather.Series
	// Labels has the time of every hour of the series as the file writes it.
	Labels []string
	Gaps   []Gap
}

var hourColumns = []struct {
	v weather.Var
	c column
}{
	{weather.Temp, tempC}, {weather.RH, rhPct}, {weather.Rain, rainMm}, {weather.Wind, windMs}, {weather.DewPoint, dewC},
	{weather.Soil, soilC}, {weather.Cloud, cloud}, {weather.Solar, solar}, {weather.Wetness, leaf},
}

// ColumnOf returns the name of the column of hours that holds a variable, or an
// empty name where there is none.
func ColumnOf(v weather.Var) string {
	for _, c := range hourColumns {
		if c.v == v {
			return c.c.name
		}
	}
	return ""
}

type hourRow struct {
	stamp
	values []float64
}

// ReadHours reads a file of hours. Times without an offset are in loc. need are
// the columns beside time that must be there. The error is strict.Faults.
//
// A local hour of a zone that is not whole hours from UTC goes to the hour of
// the series that begins within it, so that local days keep their hours.
func ReadHours(name string, r io.Reader, loc *time.Location, need []weather.Var) (*Hours, error) {
	known, must := []string{"time"}, []string{"time"}
	for _, c := range hourColumns {
		known = append(known, c.c.name)
	}
	for _, v := range need {
		must = append(must, ColumnOf(v))
	}
	t := open(name, r, known, must)
	if len(t.faults) > 0 {
		return nil, t.err()
	}
	places := make([]int, len(hourColumns))
	for i, c := range hourColumns {
		places[i] = t.column(c.c.name)
	}
	var rows []hourRow
	for t.next() {
		s, ok := t.time(t.column("time"), loc, rows)
		if !ok {
			continue
		}
		row := hourRow{stamp: s, values: make([]float64, len(hourColumns))}
		for i, c := range hourColumns {
			row.values[i] = missing
			t.into(&row.values[i], places[i], c.c)
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 && len(t.faults) == 0 {
		t.fault(0, "the file has no rows")
	}
	if err := t.err(); err != nil {
		return nil, err
	}
	return build(name, rows)
}

func build(name string, rows []hourRow) (*Hours, error) {
	first, last := rows[0].hour(), rows[len(rows)-1].hour()
	h := &Hours{Name: name, Series: weather.NewSeries(first, int(last.Sub(first).Hours())+1)}
	h.Labels = make([]string, 0, h.Series.Len())
	origin, err := h.Series.AddOrigin(weather.Origin{Source: name, Kind: weather.Nearby})
	if err != nil {
		return nil, fmt.Errorf("hours of %s: %w", name, err)
	}
	for i, row := range rows {
		at := h.Series.Index(row.hour())
		if gap := at - len(h.Labels); gap > 0 {
			h.Gaps = append(h.Gaps, Gap{gap, "hour", rows[i-1].text})
			for k := 1; k <= gap; k++ {
				h.Labels = append(h.Labels, rows[i-1].later(k))
			}
		} else if gap < 0 { // offsets of different minutes can fall into one hour
			return nil, strict.Faults{{File: name, Line: row.line, Column: row.column, Message: fmt.Sprintf("time %s falls into the same hour as the row above it", row.text)}}
		}
		h.Labels = append(h.Labels, row.text)
		for j, c := range hourColumns {
			h.Series.Set(c.v, at, row.values[j], origin)
		}
	}
	return h, nil
}
