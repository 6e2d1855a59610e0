package lang

import (
	"fmt"
	"math"
	"strings"
	"time"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/web/say"
)

// Ready writes a readiness: "act", "approaching".
func (v Voice) Ready(r plan.Readiness) string { return v.T(r.String()) }

// Meaning says in one sentence what a readiness asks of the grower.
func (v Voice) Meaning(r plan.Readiness) string { return v.T(say.Meaning(r)) }

// Standing writes how far a number can be trusted.
func (v Voice) Standing(s risk.Standing) string { return v.T(s.String()) }

var spanishNouns = map[string][2]string{
	"minute": {"minuto", "minutos"}, "hour": {"hora", "horas"}, "day": {"día", "días"}, "week": {"semana", "semanas"},
	"year": {"año", "años"}, "run": {"cálculo", "cálculos"}, "season": {"temporada", "temporadas"},
	"plant": {"planta", "plantas"}, "bed": {"bancal", "bancales"}, "message": {"mensaje", "mensajes"},
	"past year": {"año pasado", "años pasados"}, "forecast day": {"día de pronóstico", "días de pronóstico"},
	"value": {"valor", "valores"}, "planting": {"cultivo", "cultivos"}, "photo": {"foto", "fotos"}, "site": {"terreno", "terrenos"},
}

// Count writes a number with its noun, which is English and singular: "1 hour",
// "3 hours". A noun that the language lacks stays English.
func (v Voice) Count(n int, noun string) string {
	es, ok := spanishNouns[noun]
	switch {
	case v.IsEnglish() || !ok:
		return say.Count(n, noun)
	case n == 1:
		return "1 " + es[0]
	}
	return fmt.Sprintf("%d %s", n, es[1])
}

// Lasting writes a duration in its largest fitting unit, rounded down.
func (v Voice) Lasting(d time.Duration) string {
	switch {
	case d < time.Hour:
		return v.Count(int(d/time.Minute), "minute")
	case d < 48*time.Hour:
		return v.Count(int(d/time.Hour), "hour")
	}
	return v.Count(int(d/(24*time.Hour)), "day")
}

// Ago writes how long before now an instant was: "3 hours ago", "in 3 hours".
func (v Voice) Ago(t, now time.Time) string {
	d := now.Sub(t)
	switch {
	case v.IsEnglish():
		return say.Ago(t, now)
	case d < 0:
		return "en " + v.Lasting(-d)
	case d < time.Minute:
		return "ahora mismo"
	}
	return "hace " + v.Lasting(d)
}

// List joins names as in a sentence: "a, b and c".
func (v Voice) List(names []string) string {
	n := len(names)
	if v.IsEnglish() || n < 2 {
		return say.List(names)
	}
	and := " y "
	if last := strings.ToLower(names[n-1]); strings.HasPrefix(last, "i") || strings.HasPrefix(last, "hi") && !strings.HasPrefix(last, "hie") {
		and = " e "
	}
	return strings.Join(names[:n-1], ", ") + and + names[n-1]
}

// Sentence gives a text a capital at its start and a full stop at its end.
func (v Voice) Sentence(s string) string { return say.Sentence(s) }

// Upper gives a text a capital at its start.
func (v Voice) Upper(s string) string { return say.Upper(s) }

// Chance writes a probability as a count of cases: "about 6 in 10".
func (v Voice) Chance(p float64) string {
	switch {
	case v.IsEnglish():
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

// Sure writes when an event is expected and how sure that is, without a full
// stop. A nil outlook is "no date can be given".
func (v Voice) Sure(o *risk.Outlook, today civil.Date) string {
	if v.IsEnglish() {
		return v.Style.Sure(o, today)
	}
	if o == nil {
		return "no se puede dar una fecha"
	}
	out := v.sure(o, today)
	if o.Rough {
		out += " (aproximado: pocos cálculos detrás)"
	}
	return out
}

func (v Voice) sure(o *risk.Outlook, today civil.Date) string {
	date := func(d civil.Date) string { return v.Date(d, today) }
	switch {
	case !o.Reached.IsZero():
		return "alcanzado el " + date(o.Reached)
	case o.P10.IsZero():
		return "no se espera en los días que se miran"
	case o.P50.IsZero():
		return "1 posibilidad en 10 hasta el " + date(o.P10) + ", más probable después"
	case o.P90.IsZero():
		return "lo más probable alrededor del " + date(o.P50) + ", 1 posibilidad en 10 antes del " + date(o.P10) + ", puede llegar mucho después"
	case o.P10 == o.P90:
		return "se espera el " + date(o.P50) + " si se cumple el pronóstico"
	}
	return "lo más probable el " + date(o.P50) + ", 8 posibilidades en 10 entre el " + date(o.P10) + " y el " + date(o.P90)
}

// Brief writes the same in the few words that fit beside a bar.
func (v Voice) Brief(o *risk.Outlook, today civil.Date) string {
	if v.IsEnglish() {
		return v.Style.Brief(o, today)
	}
	date := func(d civil.Date) string { return v.Date(d, today) }
	switch {
	case o == nil:
		return "sin fecha"
	case !o.Reached.IsZero():
		return "desde el " + date(o.Reached)
	case o.P10.IsZero():
		return "no se espera"
	case o.P50.IsZero():
		return "desde el " + date(o.P10) + " o después"
	case o.P90.IsZero():
		return "hacia el " + date(o.P50) + " o después"
	case o.P10 == o.P90:
		return "se espera el " + date(o.P50)
	}
	return "hacia el " + date(o.P50) + " (" + v.Span(o.P10, o.P90, today) + ")"
}
