package say

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"plotwarden/plan"
)

// Meaning says in one sentence what a readiness asks of the grower.
func Meaning(r plan.Readiness) string {
	switch r {
	case plan.Present:
		return "Found in this bed. Keep it from spreading."
	case plan.Act:
		return "The time for prevention is now."
	case plan.Approaching:
		return "Expected within four weeks. Get ready."
	case plan.Blind:
		return "Weather is missing or too old. Nothing can be said, so look for yourself."
	case plan.Protected:
		return "Covered, or treated and not washed off."
	case plan.Quiet:
		return "Nothing expected within four weeks. Keep looking once a week."
	}
	return ""
}

// Sentence gives a text a capital at its start and a full stop at its end.
func Sentence(s string) string {
	s = strings.TrimSpace(Upper(s))
	if s == "" || strings.HasSuffix(s, ".") || strings.HasSuffix(s, "?") || strings.HasSuffix(s, "!") {
		return s
	}
	return s + "."
}

// Upper gives a text a capital at its start.
func Upper(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 || r == utf8.RuneError {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

// List joins names as in a sentence: "a", "a and b", "a, b and c".
func List(names []string) string {
	switch n := len(names); n {
	case 0:
		return ""
	case 1:
		return names[0]
	default:
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
}
