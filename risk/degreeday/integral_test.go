package degreeday

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"
)

// The tests here hold the closed forms against numerical integration of the
// curve itself: the temperature of every moment, the rate at that temperature,
// and Gauss-Legendre quadrature between the moments at which the rate has a
// kink, which are found by bisection and not by the closed forms' own inverse.

// rise is the temperature at time u, 0 to 1, of a half-day that goes from a to b.
func rise(s shape, a, b, u float64) float64 {
	if s == triangle {
		return a + (b-a)*u
	}
	return (a+b)/2 - (b-a)/2*math.Cos(math.Pi*u)
}

// rate is the development at a temperature, in degrees above the threshold.
func rate(t, lo, up float64, c Cutoff) float64 {
	switch {
	case t <= lo:
		return 0
	case c == None || t <= up:
		return t - lo
	case c == Horizontal:
		return up - lo
	case c == Intermediate:
		return 2*up - lo - t
	}
	return 0
}

// integral is the mean rate over a half-day from a to b, floored at 0 as an
// intermediate cutoff demands.
func integral(s shape, a, b, lo, up float64, c Cutoff) float64 {
	cuts := []float64{0}
	for _, level := range []float64{lo, up} {
		if (a-level)*(b-level) >= 0 {
			continue
		}
		from, to := 0.0, 1.0
		for range 200 {
			mid := (from + to) / 2
			if (rise(s, a, b, mid) < level) == (a < level) {
				from = mid
			} else {
				to = mid
			}
		}
		cuts = append(cuts, from)
	}
	if len(cuts) == 3 && cuts[1] > cuts[2] {
		cuts[1], cuts[2] = cuts[2], cuts[1]
	}
	cuts = append(cuts, 1)
	sum := 0.0
	for i := 1; i < len(cuts); i++ {
		if cuts[i] > cuts[i-1] {
			sum += quad.Fixed(func(u float64) float64 { return rate(rise(s, a, b, u), lo, up, c) }, cuts[i-1], cuts[i], 40, quad.Legendre{}, 0)
		}
	}
	return math.Max(0, sum)
}

type anyRule struct {
	Rule
	shape shape
}

func drawCurve(t *rapid.T) anyRule {
	lo := rapid.Float64Range(-5, 20).Draw(t, "lower")
	r := anyRule{Rule: Rule{Lower: lo, Upper: lo + rapid.Float64Range(0.1, 25).Draw(t, "width")}}
	r.Method = rapid.SampledFrom([]Method{SingleSine, SingleTriangle, DoubleSine, DoubleTriangle}).Draw(t, "method")
	r.Cutoff = rapid.SampledFrom(Cutoffs()).Draw(t, "cutoff")
	r.shape = sine
	if r.Method == SingleTriangle || r.Method == DoubleTriangle {
		r.shape = triangle
	}
	return r
}

func drawDay(t *rapid.T) (m, x float64) {
	m = rapid.Float64Range(-25, 35).Draw(t, "min")
	// Exactly flat days are drawn on purpose.
	return m, m + rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(0, 25)).Draw(t, "range")
}

func TestCurvesAgreeWithIntegration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawCurve(t)
		m, x := drawDay(t)
		next := rapid.Float64Range(-25, 40).Draw(t, "next minimum")
		want := integral(r.shape, m, x, r.Lower, r.Upper, r.Cutoff)
		if r.Method.Double() {
			want = (want + integral(r.shape, x, next, r.Lower, r.Upper, r.Cutoff)) / 2
		}
		got, err := r.Day(m, x, next)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got-want) > 1e-6 {
			t.Fatalf("%s: %g to %g then %g gives %.9f, integration %.9f", r, m, x, next, got, want)
		}
	})
}

// Hours taken from the curve itself give the single method's value in the limit.
func TestHoursOfTheCurveApproachIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawCurve(t)
		m, x := drawDay(t)
		temps := make([]float64, 24*240)
		for i := range temps {
			temps[i] = rise(r.shape, m, x, (float64(i)+0.5)/float64(len(temps)))
		}
		got, _ := r.Hours(temps)
		// Vertical jumps by the width of the thresholds at each crossing.
		limit := 1e-3 + (r.Upper-r.Lower)*2/float64(len(temps))
		if want := integral(r.shape, m, x, r.Lower, r.Upper, r.Cutoff); math.Abs(got-want) > limit {
			t.Fatalf("%s: %g to %g gives %g by hours, %g by integration", r, m, x, got, want)
		}
	})
}
