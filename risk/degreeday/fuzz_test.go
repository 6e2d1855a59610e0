package degreeday

import (
	"math"
	"testing"
)

// Whatever is asked for, New refuses it or gives a rule that computes.
func FuzzNew(f *testing.F) {
	f.Add("single-sine", "vertical", "F", 50.0, 86.0, true, 40.0, 90.0, 45.0)
	f.Add("average", "", "C", 10.0, 0.0, false, 5.0, 20.0, math.NaN())
	f.Add("average-clip-each", "horizontal", "C", 10.0, 30.0, true, 30.0, 30.0, math.Inf(1))
	f.Add("hourly", "none", "K", math.NaN(), 1e308, true, -1e308, 1e308, 0.0)
	f.Fuzz(func(t *testing.T, m, c, u string, lower, upper float64, hasUpper bool, low, top, next float64) {
		var unit Unit
		if unit.UnmarshalText([]byte(u)) != nil {
			unit = Celsius
		}
		up := &upper
		if !hasUpper {
			up = nil
		}
		r, err := New(Method(m), Cutoff(c), lower, up, unit)
		if err != nil {
			if err.Error() == "" {
				t.Fatal("an error without words")
			}
			return
		}
		if v, err := r.Day(low, top, next); err == nil && v < 0 {
			t.Fatalf("%s: %g to %g then %g gives %g", r, low, top, next, v)
		}
		if v, _ := r.Hours([]float64{low, top, next}); v < 0 {
			t.Fatalf("%s: hours give %g", r, v)
		}
	})
}
