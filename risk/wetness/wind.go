package wetness

import "math"

// TreeWindHeight is the height, m, of the wind in the tree (Kim et al. 2002).
const TreeWindHeight = 0.3

// lowestWind is the least height, m, that WindAt takes: below about 0.1 m the
// profile's logarithm is 0.
const lowestWind = 0.2

// WindAt brings a wind speed from one height in metres to another over short
// grass by the logarithmic profile
//
//	u(to) = u(from) ln(67.8 to - 5.42) / ln(67.8 from - 5.42)
//
// 67.8 = 1/z0 and 5.42 = d/z0 for grass of 0.12 m: d = 0.08 m, z0 = 0.01476 m.
// To 2 m it is equation 47 of Allen, Pereira, Raes & Smith 1998, FAO Irrigation
// and Drainage Paper 56 (confirmed second-hand); its use down to 0.3 m is that
// same profile carried on (derived). From 10 m to 0.3 m the factor is 0.415.
// Heights below 0.2 m give NaN.
func WindAt(u, from, to float64) float64 {
	if !(from >= lowestWind && to >= lowestWind) {
		return math.NaN()
	}
	return u * math.Log(67.8*to-5.42) / math.Log(67.8*from-5.42)
}
