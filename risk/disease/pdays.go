package disease

// PDays is the potato's physiological day: lower, best and upper temperature, C.
type PDays struct{ Lower, Best, Upper float64 }

// Rate returns P(T), 0 to 10:
//
//	0                                   T <= Lower
//	10 (1 - (T-Best)^2/(Best-Lower)^2)  Lower < T <= Best
//	10 (1 - (T-Best)^2/(Upper-Best)^2)  Best < T < Upper
//	0                                   T >= Upper
func (p PDays) Rate(t float64) float64 {
	if t <= p.Lower || t >= p.Upper {
		return 0
	}
	w := p.Best - p.Lower
	if t > p.Best {
		w = p.Upper - p.Best
	}
	d := (t - p.Best) / w
	return 10 * (1 - d*d)
}

// Day returns the P-days of a day of these extremes, 0 to 10; NaN when either is:
//
//	(5 P(min) + 8 P((2 min+max)/3) + 8 P((min+2 max)/3) + 3 P(max)) / 24
//
// Source: Sands, Hackett & Nix 1979, Field Crops Res. 2:309-331 (confirmed
// second-hand in its Fahrenheit form; 30 C and the weights from memory).
func (p PDays) Day(min, max float64) float64 {
	if d := max - min; d != d {
		return d
	}
	return (5*p.Rate(min) + 8*p.Rate((2*min+max)/3) + 8*p.Rate((min+2*max)/3) + 3*p.Rate(max)) / 24
}
