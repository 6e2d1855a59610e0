package web

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
)

// voids are the elements without an end tag (HTML standard, 13.1.2).
var voids = []string{"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}

// wellFormed returns what is wrong with a page: tags that don't match, ids said
// twice, references to ids that are not there, styles and scripts within the
// page, addresses outside it.
func wellFormed(page []byte) (faults []string) {
	z := html.NewTokenizer(bytes.NewReader(page))
	var open []string
	ids, refs := map[string]bool{}, map[string]string{}
	for {
		switch z.Next() {
		case html.ErrorToken:
			if len(open) > 0 {
				faults = append(faults, fmt.Sprintf("not closed: %v", open))
			}
			for id, from := range refs {
				if !ids[id] {
					faults = append(faults, fmt.Sprintf("%s names #%s, which is not there", from, id))
				}
			}
			return faults
		case html.StartTagToken, html.SelfClosingTagToken:
			tok := z.Token()
			if tok.Type == html.StartTagToken && !slices.Contains(voids, tok.Data) {
				open = append(open, tok.Data)
			}
			own := slices.ContainsFunc(tok.Attr, func(a html.Attribute) bool { return a.Key == "src" && strings.HasPrefix(a.Val, "/assets/") })
			if tok.Data == "script" && !own || tok.Data == "style" || tok.Data == "iframe" {
				faults = append(faults, "there is a "+tok.Data)
			}
			for _, a := range tok.Attr {
				faults = append(faults, attribute(tok.Data, a, ids, refs)...)
			}
		case html.EndTagToken:
			name := z.Token().Data
			if len(open) == 0 || open[len(open)-1] != name {
				return append(faults, fmt.Sprintf("</%s> closes %v", name, open))
			}
			open = open[:len(open)-1]
		}
	}
}

func attribute(tag string, a html.Attribute, ids map[string]bool, refs map[string]string) (faults []string) {
	switch {
	case a.Key == "id":
		if ids[a.Val] {
			faults = append(faults, "id twice: "+a.Val)
		}
		ids[a.Val] = true
	case a.Key == "aria-labelledby" || a.Key == "aria-describedby" || a.Key == "for":
		for _, id := range strings.Fields(a.Val) {
			refs[id] = tag
		}
	case a.Key == "href" && strings.HasPrefix(a.Val, "#"):
		refs[a.Val[1:]] = tag
	case a.Key == "href" || a.Key == "src" || a.Key == "action":
		if strings.Contains(a.Val, "//") || strings.Contains(a.Val, ":") {
			faults = append(faults, "leads outside: "+a.Val)
		}
	case a.Key == "style" || strings.HasPrefix(a.Key, "on"):
		faults = append(faults, "there is "+a.Key+" on "+tag)
	}
	return faults
}

func TestEveryPageIsWellFormed(t *testing.T) {
	for name, page := range allPages {
		d, _ := deps(true)
		w := get(t, New(d), page)
		assert.Empty(t, wellFormed(w.Body.Bytes()), name)
		doc, err := html.Parse(w.Body)
		require.NoError(t, err)
		assertNames(t, name, doc)
	}
}

// assertNames checks what a screen reader needs: a language, one first heading,
// headings without a gap, tables with captions and scopes, drawings with names.
func assertNames(t *testing.T, page string, doc *html.Node) {
	t.Helper()
	h1, last := 0, 0
	for n := range doc.Descendants() {
		if n.Type != html.ElementNode {
			continue
		}
		attr := map[string]string{}
		for _, a := range n.Attr {
			attr[a.Key] = a.Val
		}
		switch n.Data {
		case "html":
			assert.NotEmpty(t, attr["lang"], page)
		case "h1", "h2", "h3", "h4":
			level := int(n.Data[1] - '0')
			if level == 1 {
				h1++
			}
			assert.LessOrEqual(t, level, last+1, "%s: heading level jumps to %d", page, level)
			last = level
		case "svg":
			named := attr["role"] == "img" && attr["aria-labelledby"] != ""
			assert.True(t, named || attr["aria-hidden"] == "true" || insideNamed(n), "%s: a drawing has neither a name nor is it hidden: %v", page, attr)
		case "table":
			assert.True(t, n.FirstChild != nil && has(n, "caption"), "%s: a table without a caption", page)
		case "th":
			assert.NotEmpty(t, attr["scope"], page)
		}
	}
	assert.Equal(t, 1, h1, page)
}

func insideNamed(n *html.Node) bool {
	for p := n.Parent; p != nil; p = p.Parent {
		for _, a := range p.Attr {
			if (a.Key == "role" && a.Val == "img") || (a.Key == "aria-hidden" && a.Val == "true") {
				return true
			}
		}
	}
	return false
}

func has(n *html.Node, tag string) bool {
	for d := range n.Descendants() {
		if d.Data == tag {
			return true
		}
	}
	return false
}

// The check itself can fail.
func TestWellFormedSeesFaults(t *testing.T) {
	for in, want := range map[string]string{
		`<p><b>x</p>`:                          "</p> closes [p b]",
		`<p>`:                                  "not closed",
		`<p id="a"></p><p id="a"></p>`:         "id twice",
		`<p aria-labelledby="z"></p>`:          "names #z",
		`<a href="https://x.test"></a>`:        "leads outside",
		`<p style="a"></p>`:                    "there is style",
		`<p onclick="a"></p>`:                  "there is onclick",
		`<script></script>`:                    "there is a script",
		`<a href="#nowhere"></a>`:              "names #nowhere",
		`<link href="//other.test/plain.css">`: "leads outside",
	} {
		assert.Contains(t, strings.Join(wellFormed([]byte(in)), "; "), want, in)
	}
}
