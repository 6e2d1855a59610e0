package garden

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Metres is a height. In text it is a number alone, which is metres, or a
// number with one of the units m and ft: "120", "120 m", "394 ft".
type Metres float64

// footInMetres is exact: the international foot.
const footInMetres = 0.3048

// UnmarshalText reads a height. It fails on what is no number, on a unit that
// it does not know and on numbers that are not finite.
func (m *Metres) UnmarshalText(b []byte) error {
	number, unit := splitUnit(string(b))
	f, err := strconv.ParseFloat(number, 64)
	if err != nil || math.IsNaN(f) || math.IsInf(f, 0) {
		return fmt.Errorf("%q is not a number with a unit; write metres as \"120 m\" or feet as \"394 ft\"", b)
	}
	switch unit {
	case "", "m":
		*m = Metres(f)
	case "ft":
		*m = Metres(f * footInMetres)
	default:
		return fmt.Errorf("%q: unit %q is not known; known are: m, ft", b, unit)
	}
	return nil
}

// MarshalText writes metres, to two digits: "120 m".
func (m Metres) MarshalText() ([]byte, error) { return []byte(plain(float64(m)) + " m"), nil }

// splitUnit cuts "394 ft" or "394ft" where the number ends.
func splitUnit(s string) (number, unit string) {
	s = strings.TrimSpace(s)
	end := len(s)
	for i, r := range s {
		if (r < '0' || r > '9') && !strings.ContainsRune("+-.", r) {
			end = i
			break
		}
	}
	return s[:end], strings.TrimSpace(s[end:])
}
