package archive

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"plotwarden/civil"
)

// ReadByStation reads the CSV layout without a header: station, YYYYMMDD,
// element, value in tenths, measurement flag, quality flag, source flag, time of
// observation.
func ReadByStation(r io.Reader) (Daily, error) {
	b := newBuilder()
	sc := bufio.NewScanner(r)
	for n := 1; sc.Scan(); n++ {
		line := strings.TrimRight(sc.Text(), "\r ")
		if line == "" {
			continue
		}
		f := strings.Split(line, ",")
		if len(f) != 8 {
			return Daily{}, badLine(n, "it has %d fields, want 8", len(f))
		}
		if err := b.of(f[0]); err != nil {
			return Daily{}, badLine(n, "%w", err)
		}
		date, err := dateOf(f[1])
		if err != nil {
			return Daily{}, badLine(n, "field 2: %w", err)
		}
		if !slices.Contains(elements, f[2]) {
			continue
		}
		tenths, err := strconv.Atoi(strings.TrimSpace(f[3]))
		if err != nil {
			return Daily{}, badLine(n, "field 4: %q is not a number", f[3])
		}
		if tenths == missingTenths {
			continue
		}
		b.put(date, f[2], float64(tenths)/10, flag(f[4]), flag(f[5]))
	}
	if err := sc.Err(); err != nil {
		return Daily{}, fmt.Errorf("read the daily record: %w", err)
	}
	return b.finish()
}

func dateOf(s string) (civil.Date, error) {
	if len(s) != 8 {
		return 0, fmt.Errorf("%q is not a date of the form YYYYMMDD", s)
	}
	d, err := civil.Parse(s[:4] + "-" + s[4:6] + "-" + s[6:])
	if err != nil {
		return 0, err
	}
	if y := d.Year(); y < firstYear || y > lastYear {
		return 0, fmt.Errorf("%q is not a year of a weather record", s)
	}
	return d, nil
}

// flag returns the one letter of a flag, blank when there is none.
func flag(s string) byte {
	if s == "" {
		return ' '
	}
	return s[0]
}
