package account

import (
	"strings"

	"golang.org/x/text/unicode/norm"
)

const slugMax = 32

// slug makes a short id of a name: letters of the Latin alphabet without their
// accents, digits, and dashes between. A name in another script becomes "person".
func slug(name string) string {
	var b strings.Builder
	dash := false
	for _, c := range norm.NFD.String(strings.ToLower(name)) {
		switch {
		case c >= 'a' && c <= 'z' || c >= '0' && c <= '9':
			if dash && b.Len() > 0 {
				b.WriteByte('-')
			}
			dash = false
			b.WriteRune(c)
		case c == ' ' || c == '-' || c == '_' || c == '.':
			dash = true
		}
		if b.Len() >= slugMax {
			break
		}
	}
	if b.Len() == 0 {
		return "person"
	}
	return b.String()
}
