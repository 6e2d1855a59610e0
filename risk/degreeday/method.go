package degreeday

import (
	"fmt"
	"slices"
	"strings"
)

// Method is how a day's temperatures become degree-days.
type Method string

// The methods. The four averages are different functions: a paper that says
// "average with an upper threshold" can mean any of the last three.
const (
	// Average is max(0, M-L): a mean below L counts 0, never less.
	Average Method = "average"
	// AverageClipEach clips m and x each into [L, U], then takes mean - L. With
	// no U only L clips.
	AverageClipEach Method = "average-clip-each"
	// AverageClipMax lowers what is above U to U and raises nothing, then takes
	// max(0, mean-L).
	AverageClipMax Method = "average-clip-max"
	// AverageClipMean clips M itself into [L, U], then takes it - L.
	AverageClipMean Method = "average-clip-mean"
	// SingleTriangle and SingleSine lay one curve a day between m and x.
	SingleTriangle Method = "single-triangle"
	SingleSine     Method = "single-sine"
	// DoubleTriangle and DoubleSine run half a day from m to x and half a day
	// from x to the next day's minimum: the mean of two single values.
	DoubleTriangle Method = "double-triangle"
	DoubleSine     Method = "double-sine"
	// Hourly averages the rate over a day's known hours.
	Hourly Method = "hourly"
)

var methods = [...]Method{Average, AverageClipEach, AverageClipMax, AverageClipMean, SingleTriangle, DoubleTriangle, SingleSine, DoubleSine, Hourly}

// Methods lists all methods in the order of the documentation.
func Methods() []Method { return slices.Clone(methods[:]) }

// UnmarshalText reads one of the methods.
func (m *Method) UnmarshalText(b []byte) error { return oneOf(m, "method", Method(b), methods[:]) }

// Double says whether a day's value needs the next day's minimum.
func (m Method) Double() bool { return m == DoubleTriangle || m == DoubleSine }

// average says whether the method works on a mean and has no curve.
func (m Method) average() bool {
	return m == Average || m == AverageClipEach || m == AverageClipMax || m == AverageClipMean
}

// Cutoff is what happens above the upper threshold.
type Cutoff string

// The cutoffs. The empty cutoff is None.
const (
	Horizontal   Cutoff = "horizontal"
	Intermediate Cutoff = "intermediate"
	Vertical     Cutoff = "vertical"
	None         Cutoff = "none"
)

var cutoffs = [...]Cutoff{Horizontal, Intermediate, Vertical, None}

// Cutoffs lists all cutoffs.
func Cutoffs() []Cutoff { return slices.Clone(cutoffs[:]) }

// UnmarshalText reads one of the cutoffs.
func (c *Cutoff) UnmarshalText(b []byte) error { return oneOf(c, "cutoff", Cutoff(b), cutoffs[:]) }

// oneOf stores v in out, unless out is nil, when v is known.
func oneOf[T ~string](out *T, what string, v T, known []T) error {
	if slices.Contains(known, v) {
		if out != nil {
			*out = v
		}
		return nil
	}
	names := make([]string, len(known))
	for i, k := range known {
		names[i] = string(k)
	}
	return fmt.Errorf("%s %q is not one of: %s", what, string(v), strings.Join(names, ", "))
}
