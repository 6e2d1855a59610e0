package archive

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"plotwarden/weather"
	"plotwarden/weather/source"
)

// ReadISDLite reads hours of one station: year, month, day and hour (UTC) in
// columns 1-13, then temperature and dew point in tenths of C, pressure, wind
// direction, wind speed in tenths of m/s, sky condition, and rain of the last
// hour and the last six hours in tenths of mm; -9999 is missing.
//
// Relative humidity is reckoned from temperature and dew point. Rain belongs to
// the hour before its label and goes to that hour; -1 is a trace and counts as
// 0. Sky conditions 0 to 8 are eighths; others tell no amount.
func ReadISDLite(r io.Reader, o weather.Origin) (*weather.Series, error) {
	const width = 61
	var rows, rain []weather.Row
	sc := bufio.NewScanner(r)
	for n := 1; sc.Scan(); n++ {
		line := strings.TrimRight(sc.Text(), "\r ")
		if line == "" {
			continue
		}
		// The last column is right-aligned, so even without blanks at the end a
		// whole line has its full width.
		if len(line) != width {
			return nil, badLine(n, "it has %d characters, want %d", len(line), width)
		}
		t, err := time.Parse("2006 01 02 15", line[:13])
		if err != nil {
			return nil, badLine(n, "columns 1-13, %q, are not year, month, day and hour", line[:13])
		}
		if t.Year() < firstYear || t.Year() > lastYear {
			return nil, badLine(n, "%d is not a year of a weather record", t.Year())
		}
		var x [8]float64
		for i := range x {
			f := strings.TrimSpace(line[13+6*i : 19+6*i])
			v, err := strconv.Atoi(f)
			if err != nil {
				return nil, badLine(n, "columns %d-%d: %q is not a number", 14+6*i, 19+6*i, f)
			}
			if x[i] = float64(v) / 10; v == missingTenths {
				x[i] = math.NaN()
			}
		}
		row := weather.NewRow(t)
		row.Values[weather.Temp], row.Values[weather.DewPoint], row.Values[weather.Wind] = x[0], x[1], x[4]
		row.Values[weather.RH] = weather.RelHumidity(x[0], x[1])
		if sky := x[5] * 10; sky >= 0 && sky <= 8 {
			row.Values[weather.Cloud] = sky * 12.5
		}
		rows = append(rows, row)
		if mm := x[6]; !math.IsNaN(mm) {
			before := weather.NewRow(t.Add(-time.Hour))
			before.Values[weather.Rain] = max(0, mm)
			rain = append(rain, before)
		}
	}
	if err := sc.Err(); err != nil {
		return nil, fmt.Errorf("read the hourly record: %w", err)
	}
	if len(rows) == 0 {
		return nil, source.Errorf(name, source.NoData, "no hours in the record")
	}
	return weather.Assemble(append(rows, rain...), o).Series, nil
}
