package alerts

import (
	"fmt"
	"math"
	"strings"
	"time"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/message/catalog"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/web/say"
)

// voice says the fixed words and the dates of a digest in a person's language and
// units. What comes from the catalogue of threats and from the models' reasons
// is English in every language, and marked where the rest is not.
type voice struct {
	style   say.Style
	spanish bool
	printer *message.Printer
}

var (
	wordBook       = loadWords()
	englishPrinter = message.NewPrinter(language.English, message.Catalog(wordBook))
	spanishPrinter = message.NewPrinter(language.Spanish, message.Catalog(wordBook))
)

func loadWords() *catalog.Builder {
	b := catalog.NewBuilder(catalog.Fallback(language.English))
	for key, es := range spanishWords {
		// Numbers come as text (see t), so %d of the key is %s when printed.
		english := strings.ReplaceAll(key, "%d", "%s")
		for tag, text := range map[language.Tag]string{language.English: english, language.Spanish: es} {
			if err := b.SetString(tag, key, text); err != nil {
				panic(fmt.Sprintf("alerts: %v", err)) // the words are part of the program
			}
		}
	}
	return b
}

func voiceOf(l garden.Language, u garden.Units) voice {
	v := voice{style: say.StyleOf(u), printer: englishPrinter}
	if l == garden.Spanish {
		v.spanish, v.printer = true, spanishPrinter
	}
	return v
}

// t says a sentence of the catalogue, which is its English form with the verbs
// of fmt.
func (v voice) t(key string, args ...any) string {
	for i, a := range args {
		if n, ok := a.(int); ok { // plain digits: the printer would group them
			args[i] = fmt.Sprint(n)
		}
	}
	return v.printer.Sprintf(key, args...)
}

// english marks a text that is English whatever the language.
func (v voice) english(s string) string {
	if !v.spanish || s == "" {
		return s
	}
	return "[en] " + s
}

func (v voice) ready(r plan.Readiness) string { return v.t(r.String()) }

var (
	shortDays   = []string{"dom", "lun", "mar", "mié", "jue", "vie", "sáb"}
	shortMonths = []string{"ene", "feb", "mar", "abr", "may", "jun", "jul", "ago", "sep", "oct", "nov", "dic"}
)

func (v voice) date(d, today civil.Date) string {
	if !v.spanish {
		return v.style.Date(d, today)
	}
	y, m, n := d.YMD()
	out := fmt.Sprintf("%d %s", n, shortMonths[m-1])
	if y != today.Year() {
		out += fmt.Sprintf(" %d", y)
	}
	return out
}

// dayName writes a day with its weekday.
func (v voice) dayName(d, today civil.Date) string {
	if !v.spanish {
		return d.Format("Mon ") + v.date(d, today)
	}
	return shortDays[d.Weekday()] + " " + v.date(d, today)
}

func (v voice) day(d, today civil.Date) string {
	if !v.spanish {
		return v.style.Day(d, today)
	}
	switch d.Sub(today) {
	case -1:
		return "ayer"
	case 0:
		return "hoy"
	case 1:
		return "mañana"
	}
	return v.dayName(d, today)
}

func (v voice) by(d, today civil.Date) string {
	if !v.spanish {
		return v.style.By(d, today)
	}
	if d < today {
		return v.day(d, today) + ", ya pasado"
	}
	return v.day(d, today)
}

func (v voice) moment(t, now time.Time, loc *time.Location) string {
	return v.day(civil.Of(t, loc), civil.Of(now, loc)) + " " + v.style.Clock(t, loc)
}

func (v voice) hours(from, to time.Time, loc *time.Location) string {
	if !v.spanish {
		return v.style.Hours(from, to, loc)
	}
	b := v.style.Clock(to, loc)
	if l := to.In(loc); l.Hour() == 0 && l.Minute() == 0 {
		b = "medianoche"
	}
	return v.style.Clock(from, loc) + " a " + b
}

func (v voice) lasting(d time.Duration) string {
	switch {
	case !v.spanish:
		return say.Lasting(d)
	case d < time.Hour:
		return v.count(int(d/time.Minute), "minute")
	case d < 48*time.Hour:
		return v.count(int(d/time.Hour), "hour")
	}
	return v.count(int(d/(24*time.Hour)), "day")
}

func (v voice) count(n int, noun string) string {
	if !v.spanish {
		return say.Count(n, noun)
	}
	es := map[string]string{"minute": "minuto", "hour": "hora", "day": "día"}[noun]
	if n != 1 {
		es += "s"
	}
	return fmt.Sprintf("%d %s", n, es)
}

func (v voice) list(names []string) string {
	if n := len(names); v.spanish && n > 1 {
		return strings.Join(names[:n-1], ", ") + " y " + names[n-1]
	}
	return say.List(names)
}

// chance writes a probability as a count of cases, as say.Chance does.
func (v voice) chance(p float64) string {
	switch {
	case !v.spanish:
		return say.Chance(p)
	case math.IsNaN(p):
		return "desconocida"
	case p < 0.025:
		return "menos de 1 en 40"
	case p < 0.075:
		return "cerca de 1 en 20"
	case p > 0.975:
		return "más de 39 en 40"
	case p > 0.925:
		return "cerca de 19 en 20"
	}
	return fmt.Sprintf("cerca de %d en 10", int(math.Round(p*10)))
}

// sure writes when an event is expected and how sure that is, as say.Sure does.
func (v voice) sure(o *risk.Outlook, today civil.Date) string {
	if !v.spanish {
		return v.style.Sure(o, today)
	}
	date := func(d civil.Date) string { return "el " + v.date(d, today) }
	out := ""
	switch {
	case !o.Reached.IsZero():
		out = "alcanzado " + date(o.Reached)
	case o.P10.IsZero():
		out = "no se espera en los días que se miran"
	case o.P50.IsZero():
		out = "1 posibilidad en 10 hasta " + date(o.P10) + ", más probable después"
	case o.P90.IsZero():
		out = "lo más probable alrededor d" + date(o.P50) + ", 1 posibilidad en 10 antes d" + date(o.P10) + ", puede llegar mucho después"
	case o.P10 == o.P90:
		out = "se espera " + date(o.P50) + " si se cumple el pronóstico"
	default:
		out = "lo más probable " + date(o.P50) + ", 8 posibilidades en 10 entre " + date(o.P10) + " y " + date(o.P90)
	}
	if o.Rough {
		out += " (aproximado: pocos cálculos detrás)"
	}
	return out
}

// figure writes a number with its unit.
func (v voice) figure(x float64, unit string) string { return v.style.Figure(x, unit) }
