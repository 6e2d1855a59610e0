package say

import (
	"fmt"

	"plotwarden/civil"
)

// Date writes a day without its weekday: "12 Jun" or "Jun 12", with the year
// when it is not that of today.
func (s Style) Date(d, today civil.Date) string {
	layout := "2 Jan"
	if s.US {
		layout = "Jan 2"
	}
	out := d.Format(layout)
	if d.Year() != today.Year() {
		if s.US {
			out += ","
		}
		out += fmt.Sprintf(" %d", d.Year())
	}
	return out
}

// Day writes a day as people speak of it: "today", "tomorrow", "Fri 12 Jun".
func (s Style) Day(d, today civil.Date) string {
	switch d.Sub(today) {
	case -1:
		return "yesterday"
	case 0:
		return "today"
	case 1:
		return "tomorrow"
	}
	return d.Format("Mon ") + s.Date(d, today)
}

// By writes a last day as it follows "by": "today", "tomorrow", "Fri 12 Jun".
// A last day that has passed says so.
func (s Style) By(d, today civil.Date) string {
	if d < today {
		return s.Day(d, today) + ", already past"
	}
	return s.Day(d, today)
}

// Between writes two days joined by "and": "8 and 17 Jun", "28 May and 3 Jun".
func (s Style) Between(a, b, today civil.Date) string { return s.join(a, b, today, " and ") }

// Span writes two days as a stretch: "8 to 17 Jun"; one day when they are equal.
func (s Style) Span(a, b, today civil.Date) string { return s.join(a, b, today, " to ") }

func (s Style) join(a, b, today civil.Date, with string) string {
	if a == b {
		return s.Date(a, today)
	}
	ya, ma, da := a.YMD()
	yb, mb, db := b.YMD()
	if ya != yb || ma != mb {
		return s.Date(a, today) + with + s.Date(b, today)
	}
	if s.US {
		out := fmt.Sprintf("%s %d%s%d", ma.String()[:3], da, with, db)
		if ya != today.Year() {
			out += fmt.Sprintf(", %d", ya)
		}
		return out
	}
	return fmt.Sprintf("%d%s%s", da, with, s.Date(b, today))
}
