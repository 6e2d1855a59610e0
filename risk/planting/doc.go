// Package planting says when a crop can go out: soil and night temperatures
// against every published figure for it, and the chances of frost from past
// years. It is pure.
//
// The published figures disagree by 5 to 10 F, so none of them is made the
// answer: a report gives each with its source and how many are met, and a
// grower's own figure can stand beside them.
package planting
