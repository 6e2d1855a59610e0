package alerts

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/lang/langtest"
)

// TestEverySentenceHasItsSpanish reads the sources: each text given to the
// voice, in Go and in the built-in template, stands in the catalogue.
func TestEverySentenceHasItsSpanish(t *testing.T) {
	keys, err := langtest.GoKeys(os.DirFS("."), "T", "t")
	require.NoError(t, err)
	assert.Greater(t, len(keys), 60)
	page, err := langtest.TemplateKeys(os.DirFS("templates"))
	require.NoError(t, err)
	assert.Greater(t, len(page), 8)
	for _, a := range actLabels {
		keys = append(keys, a.label)
	}
	assert.Empty(t, langtest.Missing(garden.Spanish, append(keys, page...)))
}

// TestASpanishMessageHasNoUnmarkedEnglish looks for words that only English has.
func TestASpanishMessageHasNoUnmarkedEnglish(t *testing.T) {
	unmarked := regexp.MustCompile(`(?i)\b(the|and|with|was|nothing|today|tomorrow|weeks|changed|mon|tue|thu|why|sure)\b`)
	n := 0
	for name, in := range scenarios() {
		if in.Person.Language != garden.Spanish {
			continue
		}
		n++
		in.Credits, in.ActLink = nil, nil
		in.Site.Name = "Huerto norte"
		d, _ := Compose(in)
		require.NotEmpty(t, d.Text())
		for _, n := range append(d.New, d.Open...) {
			for _, s := range []string{n.Change, n.When, n.Dry, n.Caution, n.Threat} {
				assert.NotRegexp(t, unmarked, s, name)
			}
			for _, s := range append([]string{n.Why, n.Sure}, n.Numbers...) {
				if !strings.Contains(s, "[en] ") {
					assert.NotRegexp(t, unmarked, s, name)
				}
			}
			for _, s := range n.First {
				if !strings.HasPrefix(s.Text, "[en] ") {
					assert.NotRegexp(t, unmarked, s.Text, name)
				}
			}
		}
		for _, s := range []string{d.Subject, d.Lead, d.Rest, d.Day, d.footer()} {
			assert.NotRegexp(t, unmarked, s, name)
		}
		page, err := d.HTML()
		require.NoError(t, err)
		assert.Contains(t, page, `<html lang="es">`)
	}
	assert.Greater(t, n, 1)
}
