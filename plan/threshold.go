package plan

import (
	"slices"
	"strings"

	"plotwarden/garden"
	"plotwarden/risk/catalog"
)

// Thresholds returns the published action thresholds of a threat that hold for a
// crop. One published for another crop is left out: numbers do not carry over.
func Thresholds(t *catalog.Threat, crop string) []catalog.ActionThreshold {
	var out []catalog.ActionThreshold
	for _, a := range t.Threshold {
		if thresholdCovers(a.Crop, crop) {
			out = append(out, a)
		}
	}
	return out
}

// groupWords are words of the publications that stand for several crops
// (common practice).
var groupWords = map[string][]string{
	"cole crops": {"Brassicaceae"},
	"squash":     {"summer squash", "zucchini", "winter squash", "pumpkin"},
	"cucumber":   {"cucumber"},
	"bean":       {"snap bean", "dry bean"},
}

// thresholdCovers says whether a crop in a source's words is the crop of an id:
// "cabbage for fresh market" is cabbage, "pickling cucumber" a cucumber.
func thresholdCovers(words, id string) bool {
	c, _ := garden.CropByID(id)
	for _, w := range strings.FieldsFunc(strings.ToLower(words), func(r rune) bool { return r == ',' }) {
		for _, part := range strings.Split(w, " and ") {
			part = strings.TrimSpace(part)
			part = strings.TrimPrefix(strings.TrimPrefix(strings.TrimSuffix(part, " for fresh market"), "fresh "), "pickling ")
			if part == id || slices.Contains(groupWords[part], id) || slices.Contains(groupWords[part], c.Family) {
				return true
			}
		}
	}
	return false
}

// thresholdShort says one in a few words, as it reads on a small plot.
func thresholdShort(a catalog.ActionThreshold) string {
	out := a.Measure + ", " + a.Value
	if a.Small != "" && a.Small != a.Value {
		out += " (" + a.Small + ")"
	}
	return out
}

// thresholdText says one in a sentence.
func thresholdText(a catalog.ActionThreshold) string {
	out := a.Measure + ": " + a.Value
	if a.Stage != "" {
		out = upper(a.Stage) + ": " + out
	}
	if a.Small != "" && a.Small != a.Value {
		out += " (on a small plot: " + a.Small + ")"
	}
	return out + "."
}
