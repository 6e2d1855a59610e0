package degreeday

import "fmt"

// Unit is the scale of temperatures and degree-days outside this package.
type Unit string

// The units.
const (
	Celsius    Unit = "C"
	Fahrenheit Unit = "F"
)

// UnmarshalText reads C or F.
func (u *Unit) UnmarshalText(b []byte) error {
	switch v := Unit(b); v {
	case Celsius, Fahrenheit:
		*u = v
		return nil
	}
	return fmt.Errorf("unit %q is not C or F", b)
}

// FtoC converts a temperature: 32 F is 0 C.
func FtoC(f float64) float64 { return (f - 32) / 1.8 }

// CtoF converts a temperature: 0 C is 32 F.
func CtoF(c float64) float64 { return c*1.8 + 32 }

// DiffFtoC converts a difference or a sum of degree-days: 18 F is 10 C.
func DiffFtoC(f float64) float64 { return f / 1.8 }

// DiffCtoF converts a difference or a sum of degree-days: 10 C is 18 F.
func DiffCtoF(c float64) float64 { return c * 1.8 }

// ToC converts a temperature of this unit to Celsius; the empty unit is Celsius.
func (u Unit) ToC(t float64) float64 {
	if u == Fahrenheit {
		return FtoC(t)
	}
	return t
}

// DiffToC converts degree-days of this unit to degree-days Celsius.
func (u Unit) DiffToC(d float64) float64 {
	if u == Fahrenheit {
		return DiffFtoC(d)
	}
	return d
}

// DiffFromC converts degree-days Celsius to degree-days of this unit.
func (u Unit) DiffFromC(d float64) float64 {
	if u == Fahrenheit {
		return DiffCtoF(d)
	}
	return d
}
