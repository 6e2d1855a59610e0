package disease

import (
	"errors"
	"math"
)

// BetaSurface is the severity of a wet period as the product of a beta curve of
// temperature T, C, and a logistic one of wet hours W:
//
//	Scale (T-Low)^LowPower (High-T)^HighPower * Top / (1 + B exp(-Rate W))
//
// for Low < T < High, else 0. Sources: carrot Alternaria (Marcuzzo & Tomasoni)
// and tomato bacterial spot (Summa Phytopathologica), both confirmed.
type BetaSurface struct {
	Scale     float64 `yaml:"scale"`
	Low       float64 `yaml:"low"`
	High      float64 `yaml:"high"`
	LowPower  float64 `yaml:"low_power"`
	HighPower float64 `yaml:"high_power"`
	Top       float64 `yaml:"top"`
	B         float64 `yaml:"b"`
	Rate      float64 `yaml:"rate"`
}

// At returns the severity of a wet period of w hours with mean temperature t.
func (s *BetaSurface) At(t, w float64) float64 {
	if !(t > s.Low && t < s.High) {
		return 0
	}
	return s.Scale * math.Pow(t-s.Low, s.LowPower) * math.Pow(s.High-t, s.HighPower) * s.Top / (1 + s.B*math.Exp(-s.Rate*w))
}

// Most returns the highest severity of w hours between two temperatures. The
// curve has one top, at (LowPower High + HighPower Low)/(LowPower + HighPower).
func (s *BetaSurface) Most(from, to, w float64) float64 {
	top := (s.LowPower*s.High + s.HighPower*s.Low) / (s.LowPower + s.HighPower)
	return s.At(max(from, min(top, to)), w)
}

// Validate says what keeps the surface from rising with hours and staying at or
// above 0, or nil.
func (s *BetaSurface) Validate() error {
	if s.Low >= s.High {
		return errors.New("low must be below high")
	}
	for _, v := range []float64{s.Scale, s.LowPower, s.HighPower, s.Top, s.Rate} {
		if !(v > 0) {
			return errors.New("scale, low_power, high_power, top and rate must be above 0")
		}
	}
	if !(s.B >= 0) {
		return errors.New("b must not be below 0")
	}
	return nil
}

// LogitSurface is the share of flowers or fruit infected after a wet period of W
// hours at T, C, as a logistic function of a polynomial:
//
//	1 / (1 + exp(-(A + W W + WT W T + WT2 W T^2 + WT3 W T^3)))
//
// A polynomial knows no lower end of temperature and can turn up again outside
// what was tested: callers keep to the tested range.
type LogitSurface struct {
	A   float64 `yaml:"constant"`
	W   float64 `yaml:"w"`
	WT  float64 `yaml:"wt"`
	WT2 float64 `yaml:"wt2"`
	WT3 float64 `yaml:"wt3"`
}

// At returns the share, 0 to 1.
func (s *LogitSurface) At(t, w float64) float64 {
	return 1 / (1 + math.Exp(-(s.A + w*(s.W+t*(s.WT+t*(s.WT2+t*s.WT3))))))
}
