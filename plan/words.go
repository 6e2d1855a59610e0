package plan

import (
	"fmt"
	"math"
	"strconv"
	"time"
	"unicode"
	"unicode/utf8"

	"plotwarden/civil"
	"plotwarden/risk"
)

func day(d civil.Date) string { return d.Format("2 Jan") }

func clock(c *Case, t time.Time) string {
	return t.In(c.Site.Location()).Format("2 Jan 15:04")
}

// number writes a figure without digits that mean nothing.
func number(x float64) string {
	if math.Abs(x) >= 20 || x == math.Trunc(x) {
		return strconv.FormatFloat(math.Round(x), 'f', 0, 64)
	}
	return strconv.FormatFloat(x, 'f', 1, 64)
}

// spread says an outlook in words: "most likely 12 Jun, 8 in 10 between 8 and 17 Jun".
func spread(o *risk.Outlook) string {
	switch {
	case o.P50.IsZero() && o.P10.IsZero():
		return "not expected within the days looked at"
	case o.P50.IsZero():
		return fmt.Sprintf("1 in 10 that it comes by %s, more likely later", day(o.P10))
	case o.P10 == o.P90:
		return "expected on " + day(o.P50)
	case o.P90.IsZero():
		return fmt.Sprintf("most likely around %s, not before %s in 9 of 10", day(o.P50), day(o.P10))
	default:
		return fmt.Sprintf("most likely %s, 8 in 10 between %s and %s", day(o.P50), day(o.P10), day(o.P90))
	}
}

func upper(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}
