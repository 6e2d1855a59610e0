// Package lang writes what the program says in a reader's language and units:
// fixed sentences by a message catalogue, the reasons that plan gives, dates,
// hours, chances and measures. Pages and messages share it. It is pure.
//
// A fixed sentence is its own key: its English form with the verbs of fmt. Its
// Spanish stands in one of the maps es_*.go; langtest reads the sources and
// templates of a package and names the sentences that have none.
package lang

import (
	"fmt"
	"strings"

	"golang.org/x/text/language"
	"golang.org/x/text/message"

	"plotwarden/garden"
	"plotwarden/web/say"
)

// Voice is a language with a unit system. The zero value is English and metric.
type Voice struct {
	// Style writes what is a figure in every language: temperatures, rain, wind.
	say.Style
	tongue *tongue
}

// tongue is what a language other than English has.
type tongue struct {
	tag     garden.Language
	printer *message.Printer
	words   map[string]string
}

var spanishTongue = &tongue{garden.Spanish, message.NewPrinter(language.Spanish, message.Catalog(book)), spanish}

// The voices in metric units.
var (
	English = New(garden.English, garden.Metric)
	Spanish = New(garden.Spanish, garden.Metric)
)

// Languages lists the languages, English first.
func Languages() []garden.Language { return []garden.Language{garden.English, garden.Spanish} }

// New returns a voice. What is not known is English and metric.
func New(l garden.Language, u garden.Units) Voice {
	v := Voice{Style: say.StyleOf(u)}
	if l == garden.Spanish {
		v.tongue = spanishTongue
	}
	return v
}

// Language returns the voice's language.
func (v Voice) Language() garden.Language {
	if v.tongue == nil {
		return garden.English
	}
	return v.tongue.tag
}

// Tag returns the language's BCP 47 tag, for the lang attribute of a page.
func (v Voice) Tag() string { return string(v.Language()) }

// IsEnglish says whether nothing has to be translated.
func (v Voice) IsEnglish() bool { return v.tongue == nil }

// T says a fixed sentence. The key is its English form with the verbs %s and %d
// of fmt, also %[1]s; a whole number is written without grouping. Without
// arguments the key is taken as it is. A key that the language lacks comes out
// in English.
func (v Voice) T(key string, args ...any) string {
	if len(args) == 0 {
		if v.tongue != nil {
			if s, ok := v.tongue.words[key]; ok {
				return s
			}
		}
		return key
	}
	for i, a := range args {
		switch n := a.(type) {
		case int: // plain digits: the printer would group them
			args[i] = fmt.Sprint(n)
		case int64:
			args[i] = fmt.Sprint(n)
		}
	}
	if v.tongue != nil && v.Has(key) {
		return v.tongue.printer.Sprintf(key, args...)
	}
	return fmt.Sprintf(asText(key), args...)
}

// Has says whether the language has a sentence of its own for a key. English has
// every one.
func (v Voice) Has(key string) bool {
	if v.tongue == nil {
		return true
	}
	_, ok := v.tongue.words[key]
	return ok
}

// Say writes one of the keyed sentences with its arguments.
func (v Voice) Say(k Key, args ...any) string { return v.T(string(k), args...) }

// foreignMark stands before a text that is not in the reader's language.
const foreignMark = "[en] "

// Foreign writes an English text of the program or its catalogue: translated
// where the language has it, else marked with "[en] ".
func (v Voice) Foreign(s string) string {
	if s == "" || v.tongue == nil {
		return s
	}
	if t, ok := v.term(s); ok {
		return t
	}
	return foreignMark + s
}

// Term writes a name or term of the catalogue, translated where the language has
// it, else as it is.
func (v Voice) Term(s string) string {
	t, _ := v.term(s)
	return t
}

func (v Voice) term(s string) (string, bool) {
	if v.tongue == nil || s == "" {
		return s, true
	}
	if t, ok := v.tongue.words[s]; ok {
		return t, true
	}
	if t, ok := v.tongue.words[strings.TrimSuffix(s, ".")]; ok && strings.HasSuffix(s, ".") {
		return t + ".", true
	}
	return s, false
}

// Unmark splits a text from the mark of Foreign: it says whether the text is
// English in a language that is not.
func Unmark(s string) (text string, foreign bool) { return strings.CutPrefix(s, foreignMark) }
