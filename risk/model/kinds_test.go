package model

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"
)

// Every example of KINDS.md decodes, so that the page cannot fall behind.
func TestExamplesOfKindsPageDecode(t *testing.T) {
	b, err := os.ReadFile("KINDS.md")
	require.NoError(t, err)
	seen := map[string]bool{}
	for _, m := range regexp.MustCompile("(?s)```yaml\n(kind: .*?)```").FindAllStringSubmatch(string(b), -1) {
		text := strings.ReplaceAll(m[1], "tables: [...]", "tables: [{bands: [{from: 7.2, to: 11.6, steps: [{hours: 16, value: 1}]}]}]")
		var doc struct {
			Kind string
			Spec yaml.Node
		}
		require.NoError(t, yaml.Unmarshal([]byte(text), &doc), text)
		spec, faults := Decode(doc.Kind, "KINDS.md", &doc.Spec)
		assert.Empty(t, faults, doc.Kind)
		if assert.NotNil(t, spec, doc.Kind) {
			assert.Equal(t, doc.Kind, spec.Kind())
			assert.NotEmpty(t, spec.Unit(), doc.Kind)
			assert.NotEmpty(t, spec.Needs(), doc.Kind)
		}
		seen[doc.Kind] = true
	}
	for _, k := range Kinds() {
		assert.True(t, seen[k], "KINDS.md has no example of %s", k)
	}
}
