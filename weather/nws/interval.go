package nws

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// interval is a run of whole hours.
type interval struct {
	start time.Time
	hours int
}

// maxHours is longer than any interval of the service, which ends after eight
// days.
const maxHours = 24 * 31

// parseInterval reads "2026-07-14T06:00:00+00:00/P1DT6H".
func parseInterval(s string) (interval, error) {
	at, length, ok := strings.Cut(s, "/")
	if !ok {
		return interval{}, fmt.Errorf("%.60q has no duration", s)
	}
	start, err := time.Parse(time.RFC3339, at)
	if err != nil {
		return interval{}, fmt.Errorf("%.60q does not begin with a time", s)
	}
	if start = start.UTC(); start.Unix()%3600 != 0 {
		return interval{}, fmt.Errorf("%.60q does not begin on the hour", s)
	}
	hours, err := parseHours(length)
	if err != nil {
		return interval{}, err
	}
	return interval{start, hours}, nil
}

// parseHours reads the durations in use, days and hours: PT1H, P2D, P1DT6H.
func parseHours(s string) (int, error) {
	bad := fmt.Errorf("%.60q is not a duration of whole hours, as P1DT6H", s)
	rest, ok := strings.CutPrefix(s, "P")
	if !ok || rest == "" || rest == "T" {
		return 0, bad
	}
	days, clock, _ := strings.Cut(rest, "T")
	total := 0
	for _, part := range []struct {
		text, unit string
		hours      int
	}{{days, "D", 24}, {clock, "H", 1}} {
		if part.text == "" {
			continue
		}
		number, ok := strings.CutSuffix(part.text, part.unit)
		n, err := strconv.Atoi(number)
		if !ok || err != nil || n < 0 || n > maxHours {
			return 0, bad
		}
		total += n * part.hours
	}
	if total < 1 || total > maxHours {
		return 0, bad
	}
	return total, nil
}
