package langtest

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
)

func TestGoKeys(t *testing.T) {
	dir := fstest.MapFS{
		"a.go":      {Data: []byte("package a\nconst long = \"from a \" + \"constant\"\nfunc f(t func(string, ...any) string) { t(\"one\"); t(`two`, 3); x.y.T(long); t(\"built \"+z); other(\"not this\") }")},
		"b_test.go": {Data: []byte("package a\nfunc g() { t(\"in a test\") }")},
	}
	keys, err := GoKeys(dir, "t", "T")
	require.NoError(t, err)
	assert.Equal(t, []string{"from a constant", "one", "two"}, keys)

	_, err = GoKeys(fstest.MapFS{"a.go": {Data: []byte("no go")}}, "t")
	assert.ErrorContains(t, err, "a.go")
}

func TestTemplateKeys(t *testing.T) {
	dir := fstest.MapFS{
		"page.html":       {Data: []byte("<p>{{t \"one\"}} {{if t \"two %d\" .N}}t \"not this\"{{end}} {{print (t `th\"ree`)}} {{.At \"not that\"}}</p>")},
		"parts/part.html": {Data: []byte("{{- t \"say \\\"four\\\"\" -}}")},
		"style.css":       {Data: []byte("{{t \"no\"}}")},
	}
	keys, err := TemplateKeys(dir)
	require.NoError(t, err)
	assert.Equal(t, []string{"one", `say "four"`, "th\"ree", "two %d"}, keys)
}

func TestMissing(t *testing.T) {
	assert.Equal(t, []string{"nobody said this"}, Missing(garden.Spanish, []string{"Done", "nobody said this"}))
	assert.Empty(t, Missing(garden.English, []string{"nobody said this"}))
}
