package lang

import (
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk"
)

// TestBothLanguagesTakeTheSameArguments compares the verbs of all maps.
func TestBothLanguagesTakeTheSameArguments(t *testing.T) {
	require.Greater(t, len(spanish), 300)
	for key, es := range spanish {
		assert.NotEmpty(t, es, key)
		assert.Equal(t, verbs(asText(key)), verbs(asText(es)), key)
	}
}

func TestT(t *testing.T) {
	assert.Equal(t, "12345 blind", English.T("%d blind", 12345), "no grouping")
	assert.Equal(t, "a ciegas: 12345", Spanish.T("%d blind", 12345))
	assert.Equal(t, "100 % of it", Spanish.T("100 % of it"), "without arguments nothing is a verb")
	assert.Equal(t, "not in the book 3", Spanish.T("not in the book %d", 3))
	assert.False(t, Spanish.Has("not in the book %d"))
	assert.True(t, English.Has("not in the book %d"))
	assert.Equal(t, "a b %", Voice{}.T("%[1]s %[2]s %%", "a", "b"))
	assert.Equal(t, "[en] A text of the catalogue.", Spanish.Foreign("A text of the catalogue."))
	assert.Equal(t, "A text of the catalogue.", English.Foreign("A text of the catalogue."))
	text, foreign := Unmark("[en] A text.")
	assert.True(t, foreign)
	assert.Equal(t, "A text.", text)
}

func TestReasonInTheReadersWords(t *testing.T) {
	hatch := plan.Reason{Code: "early-date-near", Text: "First hatch: most likely 12 Jun, 8 in 10 between 8 Jun and 17 Jun. So far 612 of 900 degree-days F.", Said: []plan.Said{
		{Key: "%s: %s.", Args: []plan.Arg{{Kind: plan.ArgTerm, Text: "first hatch"}, {Kind: plan.ArgSaid, Said: &plan.Said{Key: "most likely %s, 8 in 10 between %s and %s",
			Args: []plan.Arg{day(6, 12), day(6, 8), day(6, 17)}}}}},
		{Key: "So far %s of %s.", Args: []plan.Arg{{Kind: plan.ArgNumber, Value: 612.4}, {Kind: plan.ArgFigure, Value: 900, Unit: "degree-days F"}}},
	}}
	assert.Equal(t, hatch.Text, English.Reason(hatch))
	assert.Equal(t, "First hatch: most likely Jun 12, 8 in 10 between Jun 8 and Jun 17. So far 612 of 900 degree-days F.", New(garden.English, garden.US).Reason(hatch))
	assert.Equal(t, "Primera eclosión: lo más probable el 12 jun, 8 en 10 entre el 8 jun y el 17 jun. Hasta ahora 612 de 900 grados-día F.", Spanish.Reason(hatch))

	rain := plan.Reason{Code: "sprayed", Said: []plan.Said{{Key: "Your treatment of %s (%s) is %s: %s and %s of rain since%s.", Args: []plan.Arg{
		{Kind: plan.ArgMoment, Day: civil.New(2026, time.June, 4), Minute: 18*60 + 5}, {Kind: plan.ArgName, Text: "the blue bottle"}, {Kind: plan.ArgTerm, Text: "thin"},
		{Kind: plan.ArgCount, Value: 1, Text: "day"}, {Kind: plan.ArgFigure, Value: 25.4, Unit: "mm"}, {Kind: plan.ArgSaid}}}}}
	assert.Equal(t, "Your treatment of 4 Jun 18:05 (the blue bottle) is thin: 1 day and 25 mm of rain since.", English.Reason(rain))
	assert.Equal(t, "Your treatment of Jun 4 6:05 pm (the blue bottle) is thin: 1 day and 1.00 in of rain since.", New("", garden.US).Reason(rain))
	assert.Equal(t, "Su tratamiento del 4 jun 18:05 (the blue bottle) está débil: desde entonces 1 día y 25 mm de lluvia.", Spanish.Reason(rain))

	assert.Equal(t, "[en] Stored by an older version.", Spanish.Reason(plan.Reason{Text: "Stored by an older version."}))
	strange := plan.Reason{Text: "In English.", Said: []plan.Said{{Key: "A key that nobody translated: %s.", Args: []plan.Arg{day(1, 1)}}}}
	assert.Equal(t, "[en] In English.", Spanish.Reason(strange), "no half sentence")
	unnamed := plan.Reason{Said: []plan.Said{{Key: "%s: %s.", Args: []plan.Arg{{Kind: plan.ArgTerm, Text: "own stage"}, day(1, 1)}}}}
	assert.Equal(t, "«own stage»: 1 ene.", Spanish.Reason(unnamed), "an operator's own model names its stages as it likes")
}

func day(m time.Month, d int) plan.Arg {
	return plan.Arg{Kind: plan.ArgDay, Day: civil.New(2026, m, d)}
}

// TestPlanSaysNothingWithoutSpanish reads the sources of plan.
func TestPlanSaysNothingWithoutSpanish(t *testing.T) {
	keys := saidKeys(t, "../plan")
	require.Greater(t, len(keys), 40)
	for _, k := range keys {
		assert.True(t, Spanish.Has(k), k)
	}
}

// saidKeys finds what is given to said, as or say of plan.
func saidKeys(t *testing.T, dir string) []string {
	files, err := os.ReadDir(dir)
	require.NoError(t, err)
	call := regexp.MustCompile(`\b(?:said|sprayText)\((?:key, |Key: )?"((?:[^"\\]|\\.)*)"|\bas\(\w+, "((?:[^"\\]|\\.)*)"|\bkey = "((?:[^"\\]|\\.)*)"|key := "((?:[^"\\]|\\.)*)"|When = "((?:[^"\\]|\\.)*)"|When: +"((?:[^"\\]|\\.)*)"|sprayLine = "((?:[^"\\]|\\.)*)"|growthNote = "((?:[^"\\]|\\.)*)"|s\.Text, s\.Source = "((?:[^"\\]|\\.)*)"`)
	var out []string
	for _, f := range files {
		if strings.HasSuffix(f.Name(), "_test.go") || !strings.HasSuffix(f.Name(), ".go") {
			continue
		}
		b, err := os.ReadFile(dir + "/" + f.Name())
		require.NoError(t, err)
		for _, m := range call.FindAllStringSubmatch(string(b), -1) {
			for _, g := range m[1:] {
				if g != "" {
					out = append(out, g)
				}
			}
		}
	}
	return out
}

func TestEveryReadinessStandingAndMeaningIsTranslated(t *testing.T) {
	for r := plan.Present; r <= plan.Quiet; r++ {
		assert.True(t, Spanish.Has(r.String()), r)
		assert.NotEqual(t, English.Meaning(r), Spanish.Meaning(r), r)
	}
	for s := risk.Unstated; s <= risk.CommonPractice; s++ {
		assert.True(t, Spanish.Has(s.String()), s)
	}
}

func TestBasis(t *testing.T) {
	for en, es := range map[string]string{
		"16 forecast days, then 30 past years run forward":                              "16 días de pronóstico, luego 30 años pasados continuados",
		"16 forecast days in 31 versions, then 30 past years run forward":               "16 días de pronóstico en 31 versiones, luego 30 años pasados continuados",
		"no forecast, then 3 past years run forward, spread wider because they are few": "sin pronóstico, luego 3 años pasados continuados, con más margen porque son pocos",
		"7 forecast days alone: there are no past years for this site":                  "solo 7 días de pronóstico: no hay años pasados para este terreno",
		"the dates of 4 seasons of the log alone":                                       "solo las fechas de 4 temporadas del registro",
		"the dates of 1 season of the log and of 3 seasons that neighbours share":       "las fechas de 1 temporadas del registro y de 3 que comparten los vecinos",
		"something new": "[en] something new",
	} {
		assert.Equal(t, es, Spanish.Basis(en))
		assert.Equal(t, en, English.Basis(en))
	}
}

func TestSpanishWords(t *testing.T) {
	today := civil.New(2026, time.June, 4)
	assert.Equal(t, "vie 12 jun", Spanish.Day(today+8, today))
	assert.Equal(t, "mañana", Spanish.By(today+1, today))
	assert.Equal(t, "ayer, ya pasado", Spanish.By(today-1, today))
	assert.Equal(t, "8 a 17 jun", Spanish.Span(civil.New(2026, time.June, 8), civil.New(2026, time.June, 17), today))
	assert.Equal(t, "28 may y 3 jun", Spanish.Between(civil.New(2026, time.May, 28), civil.New(2026, time.June, 3), today))
	assert.Equal(t, "1 hora", Spanish.Lasting(time.Hour))
	assert.Equal(t, "hace 3 días", Spanish.Ago(time.Time{}, time.Time{}.Add(80*time.Hour)))
	assert.Equal(t, "tomate e higo", Spanish.List([]string{"tomate", "higo"}))
	assert.Equal(t, "hielo y hierba", Spanish.List([]string{"hielo", "hierba"}))
	assert.Equal(t, "cerca de 6 en 10", Spanish.Chance(0.58))
	assert.Equal(t, "lo más probable el 12 jun, 8 posibilidades en 10 entre el 8 jun y el 17 jun",
		Spanish.Sure(&risk.Outlook{P10: civil.New(2026, time.June, 8), P50: civil.New(2026, time.June, 12), P90: civil.New(2026, time.June, 17)}, today))
}
