// Package say turns dates, hours, chances and measures into the plain words
// that the pages show. It is pure: today and the zone come in as arguments.
package say

import "plotwarden/garden"

// Style is how a reader wants numbers and dates written. The zero value is
// metric: "12 Jun", "14:00", C, mm, km/h. US is "Jun 12", "2 pm", F, inches, mph.
type Style struct{ US bool }

// StyleOf returns the style of a unit system; what is not known is metric.
func StyleOf(u garden.Units) Style { return Style{US: u == garden.US} }

// Units returns the unit system of the style.
func (s Style) Units() garden.Units {
	if s.US {
		return garden.US
	}
	return garden.Metric
}
