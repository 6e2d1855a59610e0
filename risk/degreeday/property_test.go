package degreeday

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func drawRule(t *rapid.T) Rule {
	r := drawCurve(t).Rule
	r.Method = rapid.SampledFrom(methods[:len(methods)-1]).Draw(t, "any method")
	if r.Method.average() {
		r.Cutoff = ""
	}
	return r
}

func value(t *rapid.T, r Rule, m, x, next float64) float64 {
	v, err := r.Day(m, x, next)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestNeverNegativeAndMonotoneInThresholds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRule(t)
		m, x := drawDay(t)
		next := rapid.Float64Range(-25, 40).Draw(t, "next minimum")
		v := value(t, r, m, x, next)
		if !(v >= 0) {
			t.Fatalf("%s gives %g", r, v)
		}
		const slack = 1e-9
		lower := r
		lower.Lower -= rapid.Float64Range(0, 10).Draw(t, "lower by")
		if w := value(t, lower, m, x, next); w < v-slack {
			t.Fatalf("%s gives %g, the lower threshold of %s only %g", r, v, lower, w)
		}
		higher := r
		higher.Upper += rapid.Float64Range(0, 10).Draw(t, "higher by")
		if w := value(t, higher, m, x, next); w < v-slack {
			t.Fatalf("%s gives %g, the higher threshold of %s only %g", r, v, higher, w)
		}
	})
}

func TestCutoffsOrderAndBounds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawCurve(t).Rule
		m, x := drawDay(t)
		next := rapid.Float64Range(-25, 40).Draw(t, "next minimum")
		of := func(c Cutoff) float64 {
			r.Cutoff = c
			return value(t, r, m, x, next)
		}
		none, hor, mid, ver := of(None), of(Horizontal), of(Intermediate), of(Vertical)
		const slack = 1e-9
		if hor > none+slack || mid > hor+slack || ver > hor+slack || hor > r.Upper-r.Lower+slack {
			t.Fatalf("none %g, horizontal %g, intermediate %g, vertical %g", none, hor, mid, ver)
		}
		if max(x, next) <= r.Upper && (hor != none || mid != none || ver != none) {
			t.Fatal("a cutoff changed a day that stays below it")
		}
	})
}

func TestAverageClipsNeverExceedTheirSpan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRule(t)
		r.Method = rapid.SampledFrom([]Method{AverageClipEach, AverageClipMax, AverageClipMean}).Draw(t, "clip")
		r.Cutoff = ""
		m, x := drawDay(t)
		if v := value(t, r, m, x, math.NaN()); v > r.Upper-r.Lower+1e-9 {
			t.Fatalf("%s gives %g", r, v)
		}
	})
}

// The same day in Fahrenheit and in Celsius: thresholds and temperatures as
// temperatures, the result as a difference.
func TestFahrenheitAndCelsiusAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRule(t)
		m, x := drawDay(t)
		next := rapid.Float64Range(-25, 40).Draw(t, "next minimum")
		up := CtoF(r.Upper)
		upper := &up
		if r.Method == Average {
			upper = nil
		}
		f, err := New(r.Method, r.Cutoff, CtoF(r.Lower), upper, Fahrenheit)
		if err != nil {
			t.Fatal(err)
		}
		c := value(t, r, m, x, next)
		got := value(t, f, FtoC(CtoF(m)), FtoC(CtoF(x)), FtoC(CtoF(next)))
		// A vertical cutoff jumps where a flat day lies on the threshold.
		if math.Abs(DiffCtoF(got)-DiffCtoF(c)) > 1e-9 && !(r.Cutoff == Vertical && (m == x || next == x)) {
			t.Fatalf("%s: %.12g F against %.12g C", r, DiffCtoF(got), c)
		}
	})
}

// A day read backwards is the same day: the curve has no direction.
func TestDoubleOfASymmetricDayIsSingle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawCurve(t).Rule
		single := r
		single.Method = map[Method]Method{DoubleSine: SingleSine, DoubleTriangle: SingleTriangle, SingleSine: SingleSine, SingleTriangle: SingleTriangle}[r.Method]
		m, x := drawDay(t)
		want := value(t, single, m, x, math.NaN())
		if got := value(t, r, m, x, m); math.Abs(got-want) > 1e-12 {
			t.Fatalf("%g, single %g", got, want)
		}
		if got := value(t, r, m, x, math.NaN()); got != want {
			t.Fatalf("without a next minimum %g, single %g", got, want)
		}
	})
}

// The reference is the closed form with the library's arccosine.
func TestSineAreaAgreesWithTheArcsineForm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.Float64Range(-25, 35).Draw(t, "min")
		x := m + rapid.Float64Range(1e-3, 30).Draw(t, "range")
		at := rapid.Float64Range(m, x).Draw(t, "threshold")
		mean, w := (m+x)/2, (x-m)/2
		z := math.Max(-1, math.Min(1, (at-mean)/w))
		want := ((mean-at)*math.Acos(z) + w*math.Sqrt(1-z*z)) / math.Pi
		if got := sine.area(m, x, at); math.Abs(got-want) > 1e-12*w {
			t.Fatalf("%g to %g above %g: %.17g, want %.17g", m, x, at, got, want)
		}
	})
}
