package strict

import "strings"

// Nearest returns the candidate closest to word by edit distance, and whether
// it is close enough to be offered as the meant spelling.
func Nearest(word string, candidates []string) (string, bool) {
	word = strings.ToLower(word)
	best, bestAt := "", 1<<30
	for _, c := range candidates {
		if d := distance(word, strings.ToLower(c)); d < bestAt {
			best, bestAt = c, d
		}
	}
	limit := max(1, min(len(word), len(best))/3)
	if strings.HasPrefix(strings.ToLower(best), word) && len(word) >= 3 {
		return best, true
	}
	return best, best != "" && bestAt <= limit
}

// Unknown says that a word is not one of the known ones, with the nearest
// spelling or, when none is near, the list of them.
func Unknown(what, word string, known []string) string {
	if n, ok := Nearest(word, known); ok {
		return what + " " + quote(word) + " is not known; did you mean " + quote(n) + "?"
	}
	if len(known) > 24 {
		return what + " " + quote(word) + " is not known"
	}
	return what + " " + quote(word) + " is not known; known are: " + strings.Join(known, ", ")
}

func quote(s string) string { return `"` + s + `"` }

// distance is the edit distance with transpositions of neighbours (optimal
// string alignment).
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	prev2 := make([]int, len(y)+1)
	prev := make([]int, len(y)+1)
	cur := make([]int, len(y)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(x); i++ {
		cur[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				cur[j] = min(cur[j], prev2[j-2]+1)
			}
		}
		prev2, prev, cur = prev, cur, prev2
	}
	return prev[len(y)]
}
