package places

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// letters that no decomposition makes plain.
var letters = strings.NewReplacer("ß", "ss", "ø", "o", "ł", "l", "đ", "d", "ð", "d", "þ", "th", "æ", "ae", "œ", "oe", "ı", "i", "ħ", "h")

// fold returns a name as people type it: lower case, without marks, with single
// blanks for hyphens, points and apostrophes.
func fold(s string) string {
	var b strings.Builder
	blank := false
	for _, r := range norm.NFD.String(letters.Replace(strings.ToLower(s))) {
		switch {
		case unicode.Is(unicode.Mn, r), r == '\'', r == '’', r == 'ʻ', r == '`':
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			if blank && b.Len() > 0 {
				b.WriteByte(' ')
			}
			blank = false
			b.WriteRune(r)
		default:
			blank = true
		}
	}
	return b.String()
}
