package archive

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"plotwarden/civil"
)

// ReadDly reads the fixed-width layout: station in columns 1-11, year 12-15,
// month 16-17, element 18-21, then for each of 31 days the value in tenths (5
// columns) and the measurement, quality and source flags (1 each). A value of
// -9999 is missing, and one with a quality flag failed a check and is left out.
func ReadDly(r io.Reader) (Daily, error) {
	const days, field, head = 31, 8, 21
	b := newBuilder()
	sc := bufio.NewScanner(r)
	for n := 1; sc.Scan(); n++ {
		line := strings.TrimRight(sc.Text(), "\r")
		if strings.TrimSpace(line) == "" {
			continue
		}
		// A copy may have lost the blanks at the end, flags of the last day,
		// but not more: a shorter line is cut.
		if len(line) < head+(days-1)*field+5 || len(line) > head+days*field {
			return Daily{}, badLine(n, "it has %d characters, want %d", len(line), head+days*field)
		}
		line += strings.Repeat(" ", head+days*field-len(line))
		if err := b.of(line[:11]); err != nil {
			return Daily{}, badLine(n, "%w", err)
		}
		year, err1 := strconv.Atoi(line[11:15])
		month, err2 := strconv.Atoi(line[15:17])
		if err1 != nil || err2 != nil || year < firstYear || year > lastYear || month < 1 || month > 12 {
			return Daily{}, badLine(n, "columns 12-17, %q, are not a year and month", line[11:17])
		}
		element := line[17:21]
		if !slices.Contains(elements, element) {
			continue
		}
		for day := 1; day <= days; day++ {
			f := line[head+(day-1)*field : head+day*field]
			tenths, err := strconv.Atoi(strings.TrimSpace(f[:5]))
			if err != nil {
				return Daily{}, badLine(n, "day %d: %q is not a number", day, f[:5])
			}
			if tenths == missingTenths {
				continue
			}
			date := civil.New(year, time.Month(month), day)
			if _, m, _ := date.YMD(); m != time.Month(month) {
				return Daily{}, badLine(n, "a value on day %d of %d-%02d, which the calendar does not have", day, year, month)
			}
			b.put(date, element, float64(tenths)/10, f[5], f[6])
		}
	}
	if err := sc.Err(); err != nil {
		return Daily{}, fmt.Errorf("read the daily record: %w", err)
	}
	return b.finish()
}
