package degreeday

import (
	"errors"
	"fmt"
	"math"
)

// Rule is a method with its thresholds, in degrees Celsius. Method, cutoff and
// thresholds belong together: a published total is true only with all of them.
type Rule struct {
	Method Method
	Cutoff Cutoff
	Lower  float64
	// Upper is NaN or +Inf when there is none. It is not looked at when the
	// cutoff is None or empty, save by the clipped averages, whose method is
	// their cutoff.
	Upper float64
}

// New builds a rule from thresholds in a unit; upper is nil when there is none.
// It fails on what Validate fails on, and on an upper threshold that would not
// be used because no cutoff was named.
func New(m Method, c Cutoff, lower float64, upper *float64, u Unit) (Rule, error) {
	r := Rule{Method: m, Cutoff: c, Lower: u.ToC(lower), Upper: math.NaN()}
	if upper != nil {
		r.Upper = u.ToC(*upper)
		if math.IsNaN(*upper) || math.IsInf(*upper, 0) {
			return Rule{}, fmt.Errorf("upper threshold %g is not a temperature", *upper)
		}
	}
	if upper != nil && m == Average && (c == None || c == "") {
		return Rule{}, errPlainAverage
	}
	if upper != nil && c == "" && !m.average() {
		return Rule{}, fmt.Errorf("method %s with an upper threshold needs a cutoff: horizontal, intermediate, vertical or none", m)
	}
	if err := r.Validate(); err != nil {
		return Rule{}, err
	}
	return r, nil
}

var errPlainAverage = errors.New("method average takes no upper threshold; choose average-clip-each, average-clip-max or average-clip-mean")

// Validate says what makes a rule impossible to compute, or nil.
func (r Rule) Validate() error {
	if err := oneOf(nil, "method", r.Method, methods[:]); err != nil {
		return err
	}
	if r.Cutoff != "" {
		if err := oneOf(nil, "cutoff", r.Cutoff, cutoffs[:]); err != nil {
			return err
		}
	}
	if math.IsNaN(r.Lower) || math.IsInf(r.Lower, 0) {
		return fmt.Errorf("lower threshold %g is not a temperature", r.Lower)
	}
	if math.IsInf(r.Upper, -1) {
		return fmt.Errorf("upper threshold %g is not a temperature", r.Upper)
	}
	named := r.Cutoff != "" && r.Cutoff != None
	switch {
	case r.Method == Average && named:
		return errPlainAverage
	case r.Method.average() && named && r.Cutoff != Horizontal:
		return fmt.Errorf("method %s clips at the upper threshold, which is a horizontal cutoff; cutoff %s needs a sine, a triangle or hours", r.Method, r.Cutoff)
	case (r.Method == AverageClipMax || r.Method == AverageClipMean) && !r.hasUpper():
		return fmt.Errorf("method %s needs an upper threshold; without one use average", r.Method)
	case named && !r.hasUpper():
		return fmt.Errorf("cutoff %s needs an upper threshold", r.Cutoff)
	case r.usesUpper() && r.hasUpper() && r.Lower >= r.Upper:
		return fmt.Errorf("lower threshold %.4g C is not below the upper threshold %.4g C", r.Lower, r.Upper)
	}
	return nil
}

func (r Rule) hasUpper() bool { return !math.IsNaN(r.Upper) && !math.IsInf(r.Upper, 0) }

// usesUpper says whether the result can depend on the upper threshold.
func (r Rule) usesUpper() bool {
	if r.Method.average() {
		return r.Method != Average
	}
	return r.Cutoff != "" && r.Cutoff != None
}

// String names the rule with its thresholds: "single-sine, 10 to 30 C, horizontal cutoff".
func (r Rule) String() string {
	switch {
	case !r.usesUpper() || !r.hasUpper():
		return fmt.Sprintf("%s, above %.4g C", r.Method, r.Lower)
	case r.Method.average():
		return fmt.Sprintf("%s, %.4g to %.4g C", r.Method, r.Lower, r.Upper)
	}
	return fmt.Sprintf("%s, %.4g to %.4g C, %s cutoff", r.Method, r.Lower, r.Upper, r.Cutoff)
}
