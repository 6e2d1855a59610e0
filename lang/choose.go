package lang

import (
	"golang.org/x/text/language"

	"plotwarden/garden"
)

var matcher = language.NewMatcher([]language.Tag{language.English, language.Spanish})

// For returns the voice that suits best, in metric units: prefs are a person's
// setting (BCP 47: "es", "es-MX") or a browser's Accept-Language header, the
// first that the program speaks. Anything else is English.
func For(prefs ...string) Voice { return New(Match(prefs...), garden.Metric) }

// Match returns the language that For chooses.
func Match(prefs ...string) garden.Language {
	for _, p := range prefs {
		tags, _, err := language.ParseAcceptLanguage(p)
		if err != nil || len(tags) == 0 {
			continue
		}
		if _, i, sure := matcher.Match(tags...); sure != language.No {
			return Languages()[i]
		}
	}
	return garden.English
}
