package weather

import "math"

// reading is what a value would look like if its unit were mistaken.
type reading struct {
	reason string
	from   func(c float64) float64 // of a right value
}

var temperatureReadings = []reading{
	{"reads like Fahrenheit taken as Celsius", func(c float64) float64 { return 1.8*c + 32 }},
	{"reads like Celsius turned into Celsius as if it were Fahrenheit", func(c float64) float64 { return (c - 32) / 1.8 }},
	{"reads like kelvin taken as Celsius", func(c float64) float64 { return c + kelvin }},
	{"reads like tenths of a degree taken as degrees", func(c float64) float64 { return 10 * c }},
}

// unitsAgainst finds stretches in which temperatures, rain or wind read like
// another unit than the reference's.
func unitsAgainst(s, ref *Series) []Doubt {
	var out []Doubt
	cuts := stretches(s.Len())
	look := func(v Var, sure bool, readings []string, find func(from, to int) int) {
		keys := make([]int, len(cuts))
		for k, c := range cuts {
			keys[k] = find(c[0], c[1])
		}
		runs(keys, func(first, last, key int) {
			out = append(out, Doubt{
				Fault: FaultUnit, Vars: []Var{v}, Sure: sure,
				From: s.Time(cuts[first][0]), To: s.Time(cuts[last][1]),
				Reason: readings[key-1] + ", beside the reference",
			})
		})
	}
	var names []string
	for _, r := range temperatureReadings {
		names = append(names, r.reason)
	}
	for _, v := range []Var{Temp, DewPoint, Soil} {
		look(v, true, names, func(from, to int) int { return temperatureUnit(s, ref, v, from, to) })
	}
	look(Rain, true, []string{"reads like inches taken as millimetres", "reads like millimetres turned into millimetres as if they were inches"},
		func(from, to int) int { return ratioUnit(s, ref, Rain, from, to, 2, 1/25.4, 25.4) })
	look(Wind, false, []string{"reads like km/h taken as m/s"}, // or stands on a bare hill
		func(from, to int) int { return ratioUnit(s, ref, Wind, from, to, 4.0/3, 3.6) })
	return out
}

// temperatureUnit returns the number, from 1, of the reading that fits the hours
// from to to, 0 when the values fit as they are or nothing does. Places differ by
// some degrees, so a reading must fit three times as well and within 4 C, and the values
// as they are must be 6 C off. common practice
func temperatureUnit(s, ref *Series, v Var, from, to int) int {
	var asIs []float64
	off := make([][]float64, len(temperatureReadings))
	for i := from; i < to; i++ {
		x, y := s.Value(v, i), ref.Value(v, ref.Index(s.Time(i)))
		if math.IsNaN(x) || math.IsNaN(y) {
			continue
		}
		asIs = append(asIs, math.Abs(x-y))
		for k, r := range temperatureReadings {
			off[k] = append(off[k], math.Abs(x-r.from(y)))
		}
	}
	if len(asIs) < leastPairs {
		return 0
	}
	plain := median(asIs)
	if plain < 6 {
		return 0
	}
	best, which := math.Min(plain/3, 4), 0
	for k := range off {
		// A reading stretches the degrees; its errors are compared in true ones.
		scale := math.Abs(temperatureReadings[k].from(1) - temperatureReadings[k].from(0))
		if m := median(off[k]) / scale; m < best {
			best, which = m, k+1
		}
	}
	return which
}

// ratioUnit returns the number, from 1, of the ratio to the reference that the
// sums of the hours known to both have, within a factor of slack; 0 when none
// fits or there is too little to tell. common practice
func ratioUnit(s, ref *Series, v Var, from, to int, slack float64, ratios ...float64) int {
	var a, b sum
	active := 0
	for i := from; i < to; i++ {
		x, y := s.Value(v, i), ref.Value(v, ref.Index(s.Time(i)))
		if math.IsNaN(x) || math.IsNaN(y) {
			continue
		}
		a.add(x)
		b.add(y)
		if x > 0 && y > 0 {
			active++
		}
	}
	if a.n < leastPairs || active < 12 || b.total <= 0 {
		return 0
	}
	for k, r := range ratios {
		if q := a.total / b.total / r; q > 1/slack && q < slack {
			return k + 1
		}
	}
	return 0
}
