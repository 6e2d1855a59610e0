package degreeday

import (
	"errors"
	"fmt"
	"math"
)

// ErrHourly is returned when an hourly rule is asked about daily extremes.
var ErrHourly = errors.New("method hourly needs hours; daily extremes are not enough")

// ErrMinAboveMax is returned for a day whose minimum exceeds its maximum.
var ErrMinAboveMax = errors.New("minimum above maximum")

// Day returns the degree-days of a day with the extremes min and max. nextMin
// is the next day's minimum; only double methods look at it. Where they find it
// NaN, the value is that of the single method and provisional: it will change
// when the next day is known. The result is NaN when min or max is NaN. It
// fails when min exceeds max or any of the three is infinite, when the rule is
// not valid, and for an hourly rule.
func (r Rule) Day(min, max, nextMin float64) (float64, error) {
	p, err := r.prepare()
	if err != nil {
		return math.NaN(), err
	}
	if err := checkDay(min, max); err != nil {
		return math.NaN(), err
	}
	if math.IsInf(nextMin, 0) {
		return math.NaN(), fmt.Errorf("next minimum %g is not a temperature", nextMin)
	}
	if math.IsNaN(min) || math.IsNaN(max) {
		return math.NaN(), nil
	}
	return p.day(min, max, nextMin), nil
}

func checkDay(min, max float64) error {
	if min > max {
		return fmt.Errorf("%w: %g, %g", ErrMinAboveMax, min, max)
	}
	if math.IsInf(min, 0) || math.IsInf(max, 0) {
		return fmt.Errorf("minimum %g and maximum %g are not temperatures", min, max)
	}
	return nil
}

// prepared is a rule whose names have been resolved, for loops.
type prepared struct {
	shape  shape
	cut    cut
	clip   clip
	double bool
	lo, up float64
}

type cut uint8

const (
	cutNone cut = iota
	cutHorizontal
	cutIntermediate
	cutVertical
)

// clip is what an average does to a day before its mean is taken.
type clip uint8

const (
	clipNone clip = iota
	clipEach
	clipMax
)

var cuts = map[Cutoff]cut{Horizontal: cutHorizontal, Intermediate: cutIntermediate, Vertical: cutVertical}

func (r Rule) prepare() (prepared, error) {
	if err := r.Validate(); err != nil {
		return prepared{}, err
	}
	p := prepared{cut: cuts[r.Cutoff], lo: r.Lower, up: math.Inf(1), double: r.Method.Double()}
	if r.usesUpper() && r.hasUpper() {
		p.up = r.Upper
	}
	switch r.Method {
	case Hourly:
		return prepared{}, ErrHourly
	case SingleSine, DoubleSine:
		p.shape = sine
	case SingleTriangle, DoubleTriangle:
		p.shape = triangle
	case AverageClipEach:
		p.clip, p.cut = clipEach, cutNone
	case AverageClipMax:
		p.clip, p.cut = clipMax, cutNone
	case AverageClipMean:
		p.cut = cutHorizontal // on a flat day: min(M, U) - L
	}
	return p, nil
}

// day returns the value of a day whose extremes are known and in order; next may
// be NaN.
func (p *prepared) day(m, x, next float64) float64 {
	v := p.single(m, x)
	if !p.double || !(math.Abs(next) <= math.MaxFloat64) {
		return v
	}
	if next > x { // a warm front: the second half rises from x
		return (v + p.single(x, next)) / 2
	}
	return (v + p.single(next, x)) / 2
}

// single returns the value of one curve. It is spelt with comparisons because
// the built-in min and max mind NaN and signed zeros, which here costs more than
// the rest.
func (p *prepared) single(m, x float64) float64 {
	if x > p.up && p.clip != clipNone {
		x = p.up
		if m > p.up {
			m = p.up
		}
	}
	if m < p.lo && p.clip == clipEach {
		m = p.lo
		if x < p.lo {
			x = p.lo
		}
	}
	if x <= p.lo {
		return 0
	}
	a := p.shape.area(m, x, p.lo)
	if p.cut == cutNone || x <= p.up {
		return a
	}
	b := p.shape.area(m, x, p.up)
	switch p.cut {
	case cutHorizontal:
		a -= b
	case cutIntermediate:
		a -= 2 * b
	case cutVertical:
		a -= b + (p.up-p.lo)*p.shape.fraction(m, x, p.up)
	}
	if a < 0 {
		return 0
	}
	return a
}
