package lang

import (
	"go/ast"
	"go/parser"
	"go/token"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
)

var verb = regexp.MustCompile(`%(?:\[(\d+)\])?([a-z%])`)

// verbs lists the arguments that a sentence takes, each with its verb.
func verbs(s string) []string {
	var out []string
	next := 1
	for _, m := range verb.FindAllStringSubmatch(s, -1) {
		at := m[1]
		if at == "" {
			at = string(rune('0' + next))
			next++
		}
		out = append(out, at+m[2])
	}
	slices.Sort(out)
	return out
}

func TestEverySentenceIsTranslatedWithTheSameArguments(t *testing.T) {
	keys := Keys()
	for _, k := range keys {
		es := spanishKeys[k]
		if assert.NotEmpty(t, es, k) {
			assert.Equal(t, verbs(string(k)), verbs(es), k)
			assert.NotEqual(t, string(k), es)
			assert.Equal(t, strings.HasSuffix(string(k), "."), strings.HasSuffix(es, "."), k)
		}
	}
	assert.Len(t, spanishKeys, len(keys), "a translation has no key")
	assert.Len(t, slices.Compact(slices.Sorted(slices.Values(keys))), len(keys), "a key stands twice")
}

// A constant that is missing from the lists would have no translation.
func TestEveryConstantIsListed(t *testing.T) {
	fset := token.NewFileSet()
	n := 0
	for _, name := range []string{"keys.go", "keys_act.go"} {
		f, err := parser.ParseFile(fset, name, nil, 0)
		require.NoError(t, err)
		for _, d := range f.Decls {
			g, ok := d.(*ast.GenDecl)
			if !ok || g.Tok != token.CONST {
				continue
			}
			n += len(g.Specs)
		}
	}
	assert.Len(t, Keys(), n)
}

func TestFor(t *testing.T) {
	for prefs, want := range map[string]string{
		"": "en", "en": "en", "es": "es", "es-MX": "es", "es_AR": "es", "ES": "es", "de": "en", "not a tag": "en",
		"de-DE,es;q=0.8,en;q=0.5": "es", "en-US,en;q=0.9,es;q=0.8": "en", "fr;q=0.9": "en", "*": "en", "ca, es;q=0.1": "es",
	} {
		assert.Equal(t, want, For(prefs).Tag(), prefs)
	}
	assert.Equal(t, "es", For("", "es-MX").Tag())
	assert.Equal(t, "en", For("en", "es").Tag(), "the first wish goes first")
	assert.Equal(t, "es", For("de", "es").Tag())
}

func TestSay(t *testing.T) {
	assert.Equal(t, "No harvest: Bed 3", English.Say(NoHarvest, "Bed 3"))
	assert.Equal(t, "No cosechar: Bancal 3", Spanish.Say(NoHarvest, "Bancal 3"))
	assert.Equal(t, "No harvest: Bed 3", Voice{}.Say(NoHarvest, "Bed 3"), "the zero value is English")
	for _, l := range []Voice{English, Spanish} {
		for _, k := range Keys() {
			args := make([]any, 3)
			for i := range args {
				args[i] = "x"
			}
			for _, v := range verbs(string(k)) {
				if v[1] == 'd' {
					args[v[0]-'1'] = 7
				}
			}
			got := l.Say(k, args[:len(verbs(string(k)))]...)
			assert.NotContains(t, got, "%!", "%s", k)
			assert.NotContains(t, got, "%[", "%s", k)
		}
	}
}

func TestDate(t *testing.T) {
	d := civil.New(2026, time.May, 7)
	assert.Equal(t, "7 May 2026", English.FullDate(d))
	assert.Equal(t, "7 de mayo de 2026", Spanish.FullDate(d))
	assert.Equal(t, "7 May 2026", Voice{}.FullDate(d))
}

func FuzzFor(f *testing.F) {
	f.Add("es-MX,es;q=0.8")
	f.Add("x-;;q=")
	f.Fuzz(func(t *testing.T, s string) {
		if got := For(s).Tag(); got != "en" && got != "es" {
			t.Fatalf("%q gave %q", s, got)
		}
	})
}
