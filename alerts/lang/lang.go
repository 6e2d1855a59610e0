// Package lang has the fixed sentences of the pages and channels below alerts in
// every language that the program speaks, as a message catalogue. What the core
// composes (reasons, steps, the catalogue's texts) is not in it: those are
// English wherever they appear.
package lang

import (
	"fmt"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/message/catalog"

	"plotwarden/civil"
)

// Lang is one language. The zero value is English.
type Lang struct {
	tag     language.Tag
	printer *message.Printer
	months  []string
	date    string // day, month, year
}

// The languages. Spanish is from memory and has not been read by a grower who
// speaks it.
var (
	English = newLang(language.English, englishMonths, "%[1]d %[2]s %[3]d")
	Spanish = newLang(language.Spanish, spanishMonths, "%[1]d de %[2]s de %[3]d")
)

// All lists the languages, English first.
func All() []Lang { return []Lang{English, Spanish} }

var (
	book    = load()
	matcher = language.NewMatcher([]language.Tag{language.English, language.Spanish})
)

func load() *catalog.Builder {
	b := catalog.NewBuilder(catalog.Fallback(language.English))
	for _, k := range Keys() {
		must(b.SetString(language.English, string(k), string(k)))
		must(b.SetString(language.Spanish, string(k), spanish[k]))
	}
	return b
}

func must(err error) {
	if err != nil {
		panic(fmt.Sprintf("lang: %v", err)) // the catalogue is part of the program
	}
}

func newLang(tag language.Tag, months []string, date string) Lang {
	return Lang{tag: tag, printer: message.NewPrinter(tag, message.Catalog(book)), months: months, date: date}
}

// For returns the language that suits best: prefs are a person's setting (BCP
// 47: "es", "es-MX") or a browser's Accept-Language header, the first that the
// program speaks. Anything else is English.
func For(prefs ...string) Lang {
	for _, p := range prefs {
		tags, _, err := language.ParseAcceptLanguage(p)
		if err != nil || len(tags) == 0 {
			continue
		}
		if _, i, sure := matcher.Match(tags...); sure != language.No {
			return All()[i]
		}
	}
	return English
}

// Tag returns the language's BCP 47 tag, for the lang attribute of a page.
func (l Lang) Tag() string { return l.or().tag.String() }

// Say writes a sentence of the catalogue with its arguments.
func (l Lang) Say(k Key, args ...any) string { return l.or().printer.Sprintf(string(k), args...) }

// Date writes a day in full: "12 June 2026", "12 de junio de 2026". The month
// stands as a word, so that nobody takes it for the day.
func (l Lang) Date(d civil.Date) string {
	l = l.or()
	y, m, day := d.YMD()
	return fmt.Sprintf(l.date, day, l.months[m-1], y)
}

func (l Lang) or() Lang {
	if l.printer == nil {
		return English
	}
	return l
}

var (
	englishMonths = []string{"January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"}
	spanishMonths = []string{"enero", "febrero", "marzo", "abril", "mayo", "junio", "julio", "agosto", "septiembre", "octubre", "noviembre", "diciembre"}
)
