package plan

import (
	"unicode"
	"unicode/utf8"

	"plotwarden/civil"
	"plotwarden/risk"
)

func day(d civil.Date) string { return d.Format("2 Jan") }

func number(x float64) string { return Digits(x) }

// spread says an outlook in words: "most likely 12 Jun, 8 in 10 between 8 and 17 Jun".
func spread(o *risk.Outlook) Said {
	switch {
	case o.P50.IsZero() && o.P10.IsZero():
		return said("not expected within the days looked at")
	case o.P50.IsZero():
		return said("1 in 10 that it comes by %s, more likely later", onDay(o.P10))
	case o.P10 == o.P90:
		return said("expected on %s", onDay(o.P50))
	case o.P90.IsZero():
		return said("most likely around %s, not before %s in 9 of 10", onDay(o.P50), onDay(o.P10))
	default:
		return said("most likely %s, 8 in 10 between %s and %s", onDay(o.P50), onDay(o.P10), onDay(o.P90))
	}
}

func upper(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}
