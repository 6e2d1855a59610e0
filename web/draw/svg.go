// Package draw makes the SVG of the pages: shapes of readiness, lanes of the
// lead line, working hours, tracks. Every drawing is as wide as the place it is
// put in: horizontal positions are percentages of the width and vertical ones
// pixels, so that text keeps its size and marks their form from a phone to a
// desk. Colours come from the style sheet by class; no drawing holds a style.
package draw

import (
	"fmt"
	"html"
	"html/template"
	"strconv"
	"strings"
)

// canvas collects the elements of one drawing.
type canvas struct{ b strings.Builder }

func (c *canvas) f(format string, args ...any) { fmt.Fprintf(&c.b, format, args...) }

// open begins a drawing with its accessible name and description; id must be
// unique in the page.
func (c *canvas) open(class, id, title, desc string, height int) {
	c.f(`<svg class="%s" role="img" width="100%%" height="%d" aria-labelledby="%s-t" aria-describedby="%s-d">`, class, height, id, id)
	c.f(`<title id="%s-t">%s</title><desc id="%s-d">%s</desc>`, id, html.EscapeString(title), id, html.EscapeString(desc))
}

func (c *canvas) done() template.HTML {
	c.b.WriteString("</svg>")
	return template.HTML(c.b.String()) //nolint:gosec // every text in it went through html.EscapeString
}

// rect draws a rectangle between two percentages of the width.
func (c *canvas) rect(class string, x1, x2 float64, y, h int, more string) {
	if x2 <= x1 {
		return
	}
	c.f(`<rect class="%s" x="%s" width="%s" y="%d" height="%d"%s/>`, class, pct(x1), pct(x2-x1), y, h, more)
}

// at opens a group whose origin stands at a percentage of the width.
func (c *canvas) at(x float64, inner string) {
	c.f(`<svg x="%s" overflow="visible">%s</svg>`, pct(x), inner)
}

// text writes text at a percentage of the width.
func (c *canvas) text(class string, x float64, y int, anchor, s string) {
	c.f(`<text class="%s" x="%s" y="%d" text-anchor="%s">%s</text>`, class, pct(x), y, anchor, html.EscapeString(s))
}

func pct(x float64) string { return num(x) + "%" }

// num writes a coordinate to two digits without trailing zeros.
func num(x float64) string {
	s := strconv.FormatFloat(x, 'f', 2, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" || s == "" {
		return "0"
	}
	return s
}

func clamp(x, lo, hi float64) float64 { return min(max(x, lo), hi) }

// Defs returns the patterns that the drawings of a page refer to. A page puts
// it in once, before the first drawing.
func Defs() template.HTML {
	return `<svg class="defs" width="0" height="0" aria-hidden="true" focusable="false"><defs>` +
		`<pattern id="hatch" width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">` +
		`<rect class="hatch" width="3" height="8"/></pattern></defs></svg>`
}
