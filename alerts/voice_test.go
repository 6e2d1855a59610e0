package alerts

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
)

// TestEverySentenceHasItsSpanish reads the sources: each text given to the
// voice, in Go and in the built-in template, stands in the catalogue.
func TestEverySentenceHasItsSpanish(t *testing.T) {
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	n := 0
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		require.NoError(t, err)
		ast.Inspect(f, func(node ast.Node) bool {
			call, ok := node.(*ast.CallExpr)
			if !ok || len(call.Args) == 0 {
				return true
			}
			sel, isSel := call.Fun.(*ast.SelectorExpr)
			id, isID := call.Fun.(*ast.Ident)
			if !(isSel && sel.Sel.Name == "t" || isID && id.Name == "t") {
				return true
			}
			if lit, ok := call.Args[0].(*ast.BasicLit); ok {
				key, err := strconv.Unquote(lit.Value)
				require.NoError(t, err)
				assert.Contains(t, spanishWords, key, name)
				n++
			}
			return true
		})
	}
	assert.Greater(t, n, 60)
	page, err := os.ReadFile("templates/digest.html")
	require.NoError(t, err)
	for _, m := range regexp.MustCompile(`\{\{t "([^"]*)"`).FindAllStringSubmatch(string(page), -1) {
		assert.Contains(t, spanishWords, m[1])
	}
	for _, a := range actLabels {
		assert.Contains(t, spanishWords, a.label)
	}
}

// TestBothLanguagesTakeTheSameArguments counts the verbs.
func TestBothLanguagesTakeTheSameArguments(t *testing.T) {
	verb := regexp.MustCompile(`%[sd]`)
	for key, es := range spanishWords {
		assert.NotEmpty(t, es, key)
		assert.Len(t, verb.FindAllString(es, -1), len(verb.FindAllString(key, -1)), key)
		assert.NotContains(t, es, "%d", "numbers come as text: %s", key)
	}
}

// TestASpanishMessageHasNoUnmarkedEnglish looks for words that only English has.
func TestASpanishMessageHasNoUnmarkedEnglish(t *testing.T) {
	unmarked := regexp.MustCompile(`(?i)\b(the|and|with|was|nothing|today|tomorrow|weeks|changed|mon|tue|thu|jun|why|sure)\b`)
	for name, in := range scenarios() {
		if in.Person.Language != garden.Spanish {
			continue
		}
		in.Credits, in.ActLink = nil, nil
		in.Site.Name = "Huerto norte"
		d, _ := Compose(in)
		require.NotEmpty(t, d.Text())
		for _, n := range append(d.New, d.Open...) {
			for _, s := range []string{n.Change, n.When, n.Dry, n.Caution} {
				assert.NotRegexp(t, strings.ReplaceAll(unmarked.String(), "|jun", ""), s, name)
			}
			assert.True(t, strings.HasPrefix(n.Why, "[en] "), n.Why)
			for _, s := range n.First {
				assert.True(t, strings.HasPrefix(s.Text, "[en] "), s.Text)
			}
		}
		for _, s := range []string{d.Subject, d.Lead, d.Rest, d.Day, d.footer()} {
			assert.NotRegexp(t, strings.ReplaceAll(unmarked.String(), "|jun", ""), s, name)
		}
		page, err := d.HTML()
		require.NoError(t, err)
		assert.Contains(t, page, `<html lang="es">`)
	}
}
