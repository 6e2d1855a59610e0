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
	if warm != Yes {
		if s.Starting != 0 {
			out.Starting = 1
		}
		out.Started |= m.shift(s.Started, -m.Fall)
	}
	if warm == No {
		return out
	}
	out.Starting |= s.Starting << 1
	if begun := uint16(1) << m.StartDays; out.Starting&begun != 0 {
		out.Starting &^= begun
		out.Started |= 1 << m.units(float64(m.StartDays)*m.Rise)
	}
	if hot != Yes {
		out.Started |= m.shift(s.Started, m.Rise)
	}
	if hot != No {
		out.Started |= m.shift(s.Started, m.Rise-m.Fall)
	}
	return out
}

// shift moves all levels of a set by a change.
func (m MildewIndex) shift(levels uint64, change float64) (out uint64) {
	for ; levels != 0; levels &= levels - 1 {
		out |= 1 << m.units(float64(bits.TrailingZeros64(levels))*m.Unit+change)
	}
	return out
}

func (m MildewIndex) units(level float64) int {
	return int(max(0, min(level, m.Ceiling))/m.Unit + 0.5)
}

// Level returns the least and the greatest level of the states.
func (m MildewIndex) Level(s IndexStates) (least, most float64) {
	least = m.Ceiling
	if s.Starting != 0 {
		least = min(m.Ceiling, float64(bits.TrailingZeros16(s.Starting))*m.Rise)
		most = min(m.Ceiling, float64(15-bits.LeadingZeros16(s.Starting))*m.Rise)
	}
	if s.Started != 0 {
		least = min(least, float64(bits.TrailingZeros64(s.Started))*m.Unit)
		most = max(most, float64(63-bits.LeadingZeros64(s.Started))*m.Unit)
	}
	return least, most
}
