package picture

import (
	"cmp"
	"image/color"
	"maps"
	"slices"
)

// maxColours is enough for the lanes' own colours and the edges of letters.
const maxColours = 32

// palette takes the colours to keep, then the commonest ones; ties go by value, so
// that the same lanes give the same bytes.
func palette(count map[color.RGBA]int, kept []color.RGBA) color.Palette {
	value := func(c color.RGBA) int { return int(c.R)<<16 | int(c.G)<<8 | int(c.B) }
	all := slices.SortedFunc(maps.Keys(count), func(a, b color.RGBA) int {
		return cmp.Or(cmp.Compare(count[b], count[a]), cmp.Compare(value(a), value(b)))
	})
	var out color.Palette
	for _, c := range append(slices.Clone(kept), all...) {
		if len(out) < maxColours && !slices.Contains(out, color.Color(c)) {
			out = append(out, c)
		}
	}
	return out
}
