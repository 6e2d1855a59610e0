package draw

import (
	"fmt"
	"html/template"

	"plotwarden/plan"
)

// shapes has one silhouette a readiness, told apart without colour and at the
// size of a letter, in a box of 24 by 24.
var shapes = map[plan.Readiness]string{
	plan.Present:     `<rect class="fill" x="3" y="3" width="18" height="18" rx="2"/>`,
	plan.Act:         `<path class="fill" d="M4 2 22 12 4 22Z"/>`,
	plan.Approaching: `<circle class="line" cx="12" cy="12" r="9"/><path class="fill" d="M12 3a9 9 0 0 1 0 18Z"/>`,
	plan.Blind:       `<circle class="line dash" cx="12" cy="12" r="9"/><path class="line" d="M6 18 18 6"/>`,
	plan.Protected:   `<path class="line" d="M12 3 20 6v6c0 5-3.500 7.500-8 9-4.500-1.500-8-4-8-9V6Z"/>`,
	plan.Quiet:       `<path class="line" d="M4 12h16"/>`,
}

// Shape draws the shape of a readiness at a size in pixels. It has no name of
// its own: the word always stands beside it.
func Shape(r plan.Readiness, size int) template.HTML {
	return template.HTML(fmt.Sprintf( //nolint:gosec // fixed text and numbers
		`<svg class="shape r-%s" viewBox="0 0 24 24" width="%d" height="%d" aria-hidden="true" focusable="false">%s</svg>`,
		r, size, size, shapes[r]))
}
