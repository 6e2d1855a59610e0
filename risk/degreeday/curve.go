package degreeday

import "math"

// shape is the curve that a day's temperature is taken to follow.
type shape uint8

const (
	flat shape = iota // the day's mean all day
	sine
	triangle
)

// area returns A(t): the area, in degree-days, of the curve from m up to x and
// back above t. m must not exceed x. The order of the tests matters: it keeps a
// day with m = x from dividing by W = 0.
//
//	sine      th = asin((t-M)/W),  A = ((M-t)(pi/2-th) + W cos th)/pi
//	triangle  A = (x-t)^2 / (2(x-m))
func (s shape) area(m, x, t float64) float64 {
	if s == flat {
		return max(0, (m+x)/2-t)
	}
	if x <= t {
		return 0
	}
	if m >= t {
		return (m+x)/2 - t
	}
	if s == triangle {
		d := x - t
		return d * d / (2 * (x - m))
	}
	w := (x - m) / 2
	z := clampUnit((t - (m+x)/2) / w)
	// cos(asin z) = sqrt(1-z^2), and pi/2 - asin z = acos z.
	return w * (math.Sqrt(1-z*z) - z*math.Acos(z)) / math.Pi
}

// fraction returns F(t): the part of the day, 0 to 1, that the curve spends
// above t. A curve that lies on t all day is not above it.
func (s shape) fraction(m, x, t float64) float64 {
	if s == flat {
		m, x = (m+x)/2, (m+x)/2
	}
	if x <= t {
		return 0
	}
	if m >= t {
		return 1
	}
	if s == triangle {
		return (x - t) / (x - m)
	}
	return math.Acos(clampUnit((2*t-m-x)/(x-m))) / math.Pi
}

func clampUnit(z float64) float64 { return max(-1, min(1, z)) }
