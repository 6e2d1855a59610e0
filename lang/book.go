package lang

import (
	"fmt"
	"maps"
	"strings"

	"golang.org/x/text/language"
	"golang.org/x/text/message/catalog"
)

// spanish is all that there is in Spanish. It is from memory: no grower who
// speaks it has read it yet.
var spanish = merged(spanishDigest, spanishReasons, spanishSteps, spanishNames, spanishAlerts, spanishWeb, keyed(spanishKeys))

// book holds the sentences for the printers. A number comes as text (see T), so
// that %d of a key is %s when printed.
var book = load()

func load() *catalog.Builder {
	b := catalog.NewBuilder(catalog.Fallback(language.English))
	for key, es := range spanish {
		for tag, text := range map[language.Tag]string{language.English: asText(key), language.Spanish: asText(es)} {
			if err := b.SetString(tag, key, text); err != nil {
				panic(fmt.Sprintf("lang: %q: %v", key, err)) // the words are part of the program
			}
		}
	}
	return b
}

// asText turns the verb of a whole number into that of a text.
func asText(format string) string {
	var b strings.Builder
	for i := 0; i < len(format); i++ {
		if format[i] != '%' {
			b.WriteByte(format[i])
			continue
		}
		j := i + 1
		if j < len(format) && format[j] == '[' {
			for j < len(format) && format[j] != ']' {
				j++
			}
			j++
		}
		if j < len(format) && format[j] == 'd' {
			b.WriteString(format[i:j] + "s")
			i = j
			continue
		}
		b.WriteByte('%')
		if j < len(format) && format[j] == '%' {
			b.WriteByte('%')
			i = j
		}
	}
	return b.String()
}

func keyed(m map[Key]string) map[string]string {
	out := make(map[string]string, len(m))
	for k, s := range m {
		out[string(k)] = s
	}
	return out
}

// merged joins the maps. A key that two of them say differently is a fault of the
// program.
func merged(all ...map[string]string) map[string]string {
	out := map[string]string{}
	for _, m := range all {
		for k, s := range m {
			if was, ok := out[k]; ok && was != s {
				panic(fmt.Sprintf("lang: %q is both %q and %q", k, was, s))
			}
		}
		maps.Copy(out, m)
	}
	return out
}
