package lang

import (
	"fmt"
	"time"

	"plotwarden/civil"
)

var (
	englishMonths = []string{"January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"}
	spanishMonths = []string{"enero", "febrero", "marzo", "abril", "mayo", "junio", "julio", "agosto", "septiembre", "octubre", "noviembre", "diciembre"}
	shortDays     = []string{"dom", "lun", "mar", "mié", "jue", "vie", "sáb"}
	shortMonths   = []string{"ene", "feb", "mar", "abr", "may", "jun", "jul", "ago", "sep", "oct", "nov", "dic"}
)

// FullDate writes a day in full: "12 June 2026", "12 de junio de 2026". The month
// stands as a word, so that nobody takes it for the day.
func (v Voice) FullDate(d civil.Date) string {
	y, m, n := d.YMD()
	if v.IsEnglish() {
		return fmt.Sprintf("%d %s %d", n, englishMonths[m-1], y)
	}
	return fmt.Sprintf("%d de %s de %d", n, spanishMonths[m-1], y)
}

// Date writes a day without its weekday: "12 Jun", with the year when it is not
// that of today.
func (v Voice) Date(d, today civil.Date) string {
	if v.IsEnglish() {
		return v.Style.Date(d, today)
	}
	y, m, n := d.YMD()
	out := fmt.Sprintf("%d %s", n, shortMonths[m-1])
	if y != today.Year() {
		out += fmt.Sprintf(" %d", y)
	}
	return out
}

// DayName writes a day with its weekday: "Fri 12 Jun".
func (v Voice) DayName(d, today civil.Date) string {
	if v.IsEnglish() {
		return d.Format("Mon ") + v.Date(d, today)
	}
	return shortDays[d.Weekday()] + " " + v.Date(d, today)
}

// Day writes a day as people speak of it: "today", "tomorrow", "Fri 12 Jun".
func (v Voice) Day(d, today civil.Date) string {
	if v.IsEnglish() {
		return v.Style.Day(d, today)
	}
	switch d.Sub(today) {
	case -1:
		return "ayer"
	case 0:
		return "hoy"
	case 1:
		return "mañana"
	}
	return v.DayName(d, today)
}

// By writes a last day as it follows "by"; one that has passed says so.
func (v Voice) By(d, today civil.Date) string {
	if v.IsEnglish() {
		return v.Style.By(d, today)
	}
	if d < today {
		return v.Day(d, today) + ", ya pasado"
	}
	return v.Day(d, today)
}

// Between writes two days joined by "and": "8 and 17 Jun".
func (v Voice) Between(a, b, today civil.Date) string {
	if v.IsEnglish() {
		return v.Style.Between(a, b, today)
	}
	return v.join(a, b, today, " y ")
}

// Span writes two days as a stretch: "8 to 17 Jun"; one day when they are equal.
func (v Voice) Span(a, b, today civil.Date) string {
	if v.IsEnglish() {
		return v.Style.Span(a, b, today)
	}
	return v.join(a, b, today, " a ")
}

func (v Voice) join(a, b, today civil.Date, with string) string {
	if a == b {
		return v.Date(a, today)
	}
	ya, ma, da := a.YMD()
	if yb, mb, _ := b.YMD(); ya != yb || ma != mb {
		return v.Date(a, today) + with + v.Date(b, today)
	}
	return fmt.Sprintf("%d%s%s", da, with, v.Date(b, today))
}

// Moment writes an instant: "today 06:00", "Tue 3 Jun 14:00".
func (v Voice) Moment(t, now time.Time, loc *time.Location) string {
	return v.Day(civil.Of(t, loc), civil.Of(now, loc)) + " " + v.Clock(t, loc)
}

// Hours writes a run of hours: "14:00 to 19:00". A run that ends with the day
// ends at midnight.
func (v Voice) Hours(from, to time.Time, loc *time.Location) string {
	if v.IsEnglish() {
		return v.Style.Hours(from, to, loc)
	}
	b := v.Clock(to, loc)
	if l := to.In(loc); l.Hour() == 0 && l.Minute() == 0 {
		b = "medianoche"
	}
	return v.Clock(from, loc) + " a " + b
}
