package ground

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strings"

	"golang.org/x/text/unicode/norm"
)

// maxStem leaves room for a number behind it.
const maxStem = 48

// NewID makes an id from a name as people write it: "Mill Lane" is "mill-lane",
// a second one "mill-lane-2". A name without a letter or digit that an id can
// have gives the id of other.
func NewID(name, other string, taken func(id string) bool) string {
	stem := stemOf(name)
	if stem == "" {
		stem = stemOf(other)
	}
	id := stem
	for n := 2; taken(id); n++ {
		id = fmt.Sprintf("%s-%d", stem, n)
	}
	return id
}

func stemOf(name string) string {
	var b strings.Builder
	for _, r := range norm.NFD.String(strings.ToLower(name)) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case r > 0x2ff && r < 0x370, r == '\'', r == '’': // marks over letters, and what joins two
		default:
			if s := b.String(); s != "" && !strings.HasSuffix(s, "-") {
				b.WriteByte('-')
			}
		}
		if b.Len() >= maxStem {
			break
		}
	}
	return strings.Trim(b.String(), "-")
}

// Mark is a short text that is another whenever the value is: a form that sends it
// back shows whether somebody changed the same meanwhile.
func Mark(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		return "" // nothing of the garden fails to encode; a form without a mark is not compared
	}
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:8])
}
