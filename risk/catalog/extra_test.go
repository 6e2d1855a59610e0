package catalog

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const newThreat = `name: green bean weevil
latin: Inventus exemplaris
class: insect
crops: [snap bean]
look: holes
where: on the pods
season: Invented for a test.
source: {text: invented, standing: from memory}
cultural: [{kind: scout, text: Look at the pods., source: {text: invented, standing: common practice}}]
models:
  - id: example-2026
    title: Green bean weevil, Example 2026
    default: true
    source: {text: Example 2026, standing: confirmed}
    validated: nowhere
    kind: degree-days
    spec:
      method: single-sine
      unit: C
      lower: 10
      start: {kind: calendar, day: 03-01, standing: confirmed}
      stages: [{name: first adults, value: 200}]
`

const moreModels = `extends: squash-vine-borer
disagreements: [{text: The county saw them at 950., standing: confirmed}]
models:
  - id: county-2026
    title: Squash vine borer, County 2026
    default: true
    source: {text: County trap line 2026, standing: confirmed}
    validated: one county, 2024-2026
    kind: degree-days
    spec:
      method: average
      unit: F
      lower: 50
      start: {kind: calendar, day: 01-01, standing: confirmed}
      stages: [{name: moths come out of the soil, value: 950}]
`

func TestWithAddsAThreatAndAModelByDataAlone(t *testing.T) {
	base := shipped(t)
	c, err := base.With(fstest.MapFS{"x/green-bean-weevil.yaml": {Data: []byte(newThreat)}, "x/county.yaml": {Data: []byte(moreModels)}}, "x")
	require.NoError(t, err)

	th, ok := c.ByID("green-bean-weevil")
	require.True(t, ok)
	assert.Equal(t, "x/green-bean-weevil.yaml", th.Models[0].Added)
	m, ok := c.Model("green-bean-weevil/example-2026")
	require.True(t, ok)
	assert.Equal(t, 200.0, m.Spec.Stages()[0].Value)
	assert.Len(t, c.Threats, len(base.Threats)+1)

	svb, _ := c.ByID("squash-vine-borer")
	def, ok := svb.Default()
	require.True(t, ok)
	assert.Equal(t, "squash-vine-borer/county-2026", def.ID)
	published, ok := c.Model("squash-vine-borer/south-dakota-2021")
	require.True(t, ok, "the published model stays in the list")
	assert.False(t, published.Default)
	assert.Contains(t, Page(*svb), "The county saw them at 950.")
	assert.Contains(t, Page(*svb), "Added by the operator's file x/county.yaml")

	// The catalogue it started from is as it was.
	old, _ := base.ByID("squash-vine-borer")
	def, _ = old.Default()
	assert.Equal(t, "squash-vine-borer/south-dakota-2021", def.ID)
	assert.Len(t, old.Models, 1)
	assert.NotContains(t, Page(*old), "The county saw")
}

func TestWithRefuses(t *testing.T) {
	base := shipped(t)
	for name, c := range map[string]struct{ file, text, want string }{
		"a threat that exists":     {"late-blight.yaml", strings.ReplaceAll(newThreat, "name: green bean weevil", "name: mine"), `x/late-blight.yaml:1:7: threat "late-blight" exists already in the catalogue; to add models to it say extends: late-blight, else give the file another name`},
		"a model that exists":      {"c.yaml", strings.ReplaceAll(moreModels, "county-2026", "south-dakota-2021"), `x/c.yaml:4:9: model "squash-vine-borer/south-dakota-2021" exists already in the catalogue; give the new one an id of its own`},
		"a misspelt threat":        {"c.yaml", strings.ReplaceAll(moreModels, "extends: squash-vine-borer", "extends: squash-vine-borrer"), `x/c.yaml:1:10: threat "squash-vine-borrer" is not known; did you mean "squash-vine-borer"?`},
		"a changed name":           {"c.yaml", moreModels + "latin: Somebody else\n", "x/c.yaml:16:8: latin belongs to the threat that is extended"},
		"no models":                {"c.yaml", "extends: late-blight\n", "x/c.yaml:1:1: a file that extends a threat adds at least one model"},
		"a calendar for a migrant": {"c.yaml", strings.ReplaceAll(moreModels, "extends: squash-vine-borer", "extends: corn-earworm"), "the threat is a migrant, so its models start from a catch, not from calendar"},
	} {
		_, err := base.With(fstest.MapFS{"x/" + c.file: {Data: []byte(c.text)}}, "x")
		assert.ErrorContains(t, err, c.want, name)
	}
}

func TestLoadDirNamesTheOperatorsPath(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "county.yaml"), []byte(moreModels), 0o600))
	c, err := LoadDir(dir)
	require.NoError(t, err)
	_, ok := c.Model("squash-vine-borer/county-2026")
	assert.True(t, ok)

	require.NoError(t, os.WriteFile(filepath.Join(dir, "bad.yaml"), []byte("nmae: x\n"), 0o600))
	_, err = LoadDir(dir)
	assert.ErrorContains(t, err, filepath.Join(dir, "bad.yaml")+`:1:1: key "nmae" is not known; did you mean "name"?`)
	_, err = LoadDir(filepath.Join(dir, "none"))
	assert.Error(t, err)
}

func TestPage(t *testing.T) {
	c := shipped(t)
	for _, id := range []string{"imported-cabbageworm", "tomato-early-blight", "cabbage-looper"} {
		th, _ := c.ByID(id)
		golden(t, "testdata/page-"+id+".md", Page(*th))
	}
}

func TestListNamesEveryModelWithItsSource(t *testing.T) {
	c := shipped(t)
	var b bytes.Buffer
	require.NoError(t, List(&b, c))
	text := b.String()
	for i := range c.Threats {
		assert.Contains(t, text, c.Threats[i].ID+": "+c.Threats[i].Name)
	}
	for _, id := range c.ModelIDs() {
		m, _ := c.Model(id)
		assert.Contains(t, text, "\n  "+id)
		assert.Contains(t, text, Cite(m.Source))
		assert.NotContains(t, text, "A rule of kind", "every kind is described")
	}
	assert.Error(t, List(failing{}, c))
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, os.ErrClosed }
