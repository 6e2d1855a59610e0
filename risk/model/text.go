package model

import (
	"fmt"
	"math"
	"strings"
)

// choose reads one of a closed set of words.
func choose[T ~string](out *T, b []byte, known ...T) error {
	names := make([]string, len(known))
	for i, k := range known {
		if string(k) == string(b) {
			*out = k
			return nil
		}
		names[i] = string(k)
	}
	return fmt.Errorf("%q is not one of: %s", b, strings.Join(names, ", "))
}

// num writes a number of a rule as its data file has it.
func num(x float64) string { return strings.TrimSuffix(fmt.Sprintf("%.6g", x), ".0") }

// nan is a value that is not known.
var nan = math.NaN()
