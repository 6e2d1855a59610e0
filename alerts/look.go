package alerts

import "plotwarden/plan"

// Look is how a readiness looks where no picture can be drawn: its word, a
// letter that stands for the shape of the pages, and a colour for light and for
// dark ground. Each of the three alone tells the readinesses apart; the colours
// are those of the pages.
type Look struct {
	Word, Shape, Light, Dark string
}

var looks = map[plan.Readiness]Look{
	plan.Present:     {"present", "■", "#882255", "#f093c4"},
	plan.Act:         {"act", "►", "#b04800", "#ff9f5a"},
	plan.Approaching: {"approaching", "◑", "#00619e", "#6cbcf5"},
	plan.Blind:       {"blind", "∅", "#565d61", "#b4b9bc"},
	plan.Protected:   {"protected", "▽", "#006a62", "#55cdb6"},
	plan.Quiet:       {"quiet", "–", "#5f676b", "#a3acb0"},
}

// LookOf returns the look of a readiness.
func LookOf(r plan.Readiness) Look { return looks[r] }
