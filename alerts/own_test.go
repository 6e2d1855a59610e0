package alerts

import (
	"os"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const ownText = `{{.D.Lead}} {{.D.Demo}}{{range .D.New}}
{{.Threat}}: {{.Why}} {{.Caution}}{{end}}{{range .D.Blind}}
{{.Since}}{{end}}`

func folder(files map[string]string) fstest.MapFS {
	out := fstest.MapFS{}
	for name, text := range files {
		out[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return out
}

func TestOwnTemplates(t *testing.T) {
	d, _ := Compose(busy())
	own, faults := LoadTemplates(folder(map[string]string{OwnText: ownText}))
	require.Empty(t, faults)
	text, html, faults := own.Render(&d)
	require.Empty(t, faults)
	assert.Contains(t, text, "Late blight: The forecast has conditions that favour infection")
	assert.NotEqual(t, d.Text(), text)
	page, err := d.HTML()
	require.NoError(t, err)
	assert.Equal(t, page, html, "the other form is the built-in one")

	// The built-in page itself passes as an own template.
	builtIn, err := os.ReadFile("templates/digest.html")
	require.NoError(t, err)
	own, faults = LoadTemplates(folder(map[string]string{OwnHTML: string(builtIn)}))
	require.Empty(t, faults)
	_, html, _ = own.Render(&d)
	assert.Equal(t, page, html)
	none, faults := LoadTemplates(folder(nil))
	assert.Empty(t, faults)
	text, html, _ = none.Render(&d)
	assert.Equal(t, []string{d.Text(), page}, []string{text, html})
}

func TestABrokenTemplateFallsBackAndSaysSo(t *testing.T) {
	d, _ := Compose(busy())
	page, err := d.HTML()
	require.NoError(t, err)
	for text, want := range map[string]string{
		"{{":                                  "unclosed action",
		"{{.D.Nonsense}}":                     "Nonsense",
		"{{range .D.New}}{{nonsense}}{{end}}": "nonsense",
		"Good morning.":                       "leaves out",
	} {
		own, faults := LoadTemplates(folder(map[string]string{OwnText: text, OwnHTML: text}))
		require.Len(t, faults, 2, text)
		for i, name := range []string{OwnHTML, OwnText} {
			assert.ErrorContains(t, faults[i], name)
			assert.ErrorContains(t, faults[i], want)
			assert.ErrorContains(t, faults[i], "the built-in one is")
		}
		plain, html, faults := own.Render(&d)
		assert.Empty(t, faults)
		assert.Equal(t, []string{d.Text(), page}, []string{plain, html})
	}
	// One that leaves out the caution alone is refused too.
	_, faults := LoadTemplates(folder(map[string]string{OwnText: `{{.D.Lead}} {{.D.Demo}}{{range .D.New}}{{.Threat}}{{end}}{{range .D.Blind}}{{.Since}}{{end}}`}))
	require.Len(t, faults, 1)
	assert.ErrorContains(t, faults[0], "the caution")
	// One that fails only on some mornings.
	own, faults := LoadTemplates(folder(map[string]string{OwnText: ownText + "{{(index .D.Gone 0)}}"}))
	require.Empty(t, faults)
	text, _, faults := own.Render(&d)
	require.Len(t, faults, 1)
	assert.Equal(t, d.Text(), text)
}
