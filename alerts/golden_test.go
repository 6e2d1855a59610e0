package alerts

import (
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
)

var update = flag.Bool("update", false, "write the golden files anew")

func golden(t *testing.T, name, got string) {
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o750))
		require.NoError(t, os.WriteFile(path, []byte(got), 0o600))
		return
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "run the test with -update, then read what changed")
	assert.Equal(t, string(want), got, "%s; if the change is meant, run the test with -update", path)
}

func TestGoldenDigests(t *testing.T) {
	for name, in := range scenarios() {
		t.Run(name, func(t *testing.T) {
			d, send := Compose(in)
			assert.True(t, send)
			page, err := d.HTML()
			require.NoError(t, err)
			golden(t, name+".txt", "Subject: "+d.Subject+"\n\n"+d.Text())
			golden(t, name+".html", page)
		})
	}
}

// TestBothFormsSayTheSame compares the words of the HTML with those of the
// text: no reader of one form is told less.
func TestBothFormsSayTheSame(t *testing.T) {
	for name, in := range scenarios() {
		d, _ := Compose(in)
		page, err := d.HTML()
		require.NoError(t, err)
		doc, err := html.Parse(strings.NewReader(page))
		require.NoError(t, err)
		inHTML := words(textOf(doc))
		text := regexp.MustCompile(`https?://\S+`).ReplaceAllString(d.Text(), "")
		for _, w := range strings.Fields(words(text)) {
			assert.Contains(t, inHTML, w, name)
		}
	}
}

func textOf(n *html.Node) string {
	switch {
	case n.Type == html.TextNode:
		return n.Data + " "
	case n.Data == "style" || n.Data == "head":
		return ""
	}
	var b strings.Builder
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		b.WriteString(textOf(c))
	}
	return b.String()
}

// words drops what the forms may differ in: case, marks and spaces.
func words(s string) string {
	s = regexp.MustCompile(`[^\pL\pN<>&%]+`).ReplaceAllString(strings.ToLower(s), " ")
	return s
}

func TestTextLinesAreShort(t *testing.T) {
	for name, in := range scenarios() {
		d, _ := Compose(in)
		for _, line := range strings.Split(d.Text(), "\n") {
			if !strings.Contains(line, "http") {
				assert.LessOrEqual(t, utf8.RuneCountInString(line), textWidth, "%s: %s", name, line)
			}
			assert.Equal(t, strings.TrimRight(line, " "), line)
		}
	}
}

// TestPagesNeedNothingFromOutside: no picture, script, font, form or sheet, and
// links lead to the configured address only.
func TestPagesNeedNothingFromOutside(t *testing.T) {
	for name, in := range scenarios() {
		d, _ := Compose(in)
		page, err := d.HTML()
		require.NoError(t, err)
		doc, err := html.Parse(strings.NewReader(page))
		require.NoError(t, err)
		for n := range doc.Descendants() {
			if n.Type != html.ElementNode {
				continue
			}
			assert.NotContains(t, []string{"img", "script", "link", "iframe", "form", "object", "svg"}, n.Data, name)
			for _, a := range n.Attr {
				assert.False(t, strings.HasPrefix(a.Key, "on"), "%s: %s", name, a.Key)
				assert.NotContains(t, a.Val, "url(", name)
				assert.NotContains(t, a.Val, "ZgotmplZ", "%s: the template engine refused a value", name)
				if a.Key == "href" {
					assert.Regexp(t, "^https://beds.example/(site/north|act/)", a.Val)
				}
			}
		}
		assert.Equal(t, in.BaseURL == "", !strings.Contains(page, "href="), name)
	}
}
