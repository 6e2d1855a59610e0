package disease

import "math/bits"

// MildewIndex is the day's step of the grape powdery mildew index (Gubler,
// Thomas et al., APSnet 1999, confirmed). A day is warm when it has enough
// unbroken hours in the favourable range, and hot when it has an hour at or above
// the lethal temperature. Rise, Fall and Ceiling are whole multiples of Unit.
type MildewIndex struct {
	Rise, Fall float64
	StartDays  int     // 1 to 10
	Ceiling    float64 // at most 63 units
	Unit       float64 // greatest common divisor of the three
}

// IndexStates is a set of states that the index may be in: with every day known
// just one. Bit k of Started is a level of k units in the season's run; bit k of
// Starting is k warm days so far of those that start it.
type IndexStates struct {
	Started  uint64
	Starting uint16
}

// IndexStart is the one state before the first day.
func IndexStart() IndexStates { return IndexStates{Starting: 1} }

// Tri is a truth that may be unknown.
type Tri uint8

// The truths.
const (
	No Tri = iota + 1
	Yes
	Maybe
)

// Step returns the states after a day. In the start each warm day in a row adds
// Rise, any other day puts the level back to 0, and heat is not looked at; after
// StartDays the season's run begins. There a warm day adds Rise, one that is not
// warm takes Fall, and a hot one takes Fall, so that warm and hot together add
// Rise - Fall; a day never takes more than Fall, and the level stays within 0 and
// Ceiling.
func (m MildewIndex) Step(s IndexStates, warm, hot Tri) IndexStates {
	var out IndexStates
	for _, w := range [2]Tri{No, Yes} {
		if warm != w && warm != Maybe {
			continue
		}
		for k := range m.StartDays {
			if s.Starting&(1<<k) == 0 {
				continue
			}
			switch {
			case w == No:
				out.Starting |= 1
			case k+1 < m.StartDays:
				out.Starting |= 1 << (k + 1)
			default:
				out.Started |= 1 << m.units(float64(k+1)*m.Rise)
			}
		}
		for _, h := range [2]Tri{No, Yes} {
			if hot != h && hot != Maybe {
				continue
			}
			change := 0.0
			if w == Yes {
				change += m.Rise
			}
			if w == No || h == Yes {
				change -= m.Fall
			}
			for left := s.Started; left != 0; left &= left - 1 {
				level := float64(bits.TrailingZeros64(left)) * m.Unit
				out.Started |= 1 << m.units(level+change)
			}
		}
	}
	return out
}

func (m MildewIndex) units(level float64) int {
	return int(max(0, min(level, m.Ceiling))/m.Unit + 0.5)
}

// Level returns the least and the greatest level of the states.
func (m MildewIndex) Level(s IndexStates) (least, most float64) {
	least = m.Ceiling
	for k := range m.StartDays {
		if s.Starting&(1<<k) != 0 {
			level := min(float64(k)*m.Rise, m.Ceiling)
			least, most = min(least, level), max(most, level)
		}
	}
	if s.Started != 0 {
		least = min(least, float64(bits.TrailingZeros64(s.Started))*m.Unit)
		most = max(most, float64(63-bits.LeadingZeros64(s.Started))*m.Unit)
	}
	return least, most
}
