package disease

// Leaf is what is known of one hour for a wet period.
type Leaf uint8

// The kinds of hour.
const (
	LeafUnknown Leaf = iota
	LeafDry          // dry, and counts to the gap
	LeafWet
	LeafDamp      // dry, but too humid to count to the gap
	LeafDryOrDamp // dry; whether it counts to the gap is unknown
)

// Period is a wet period as it grows hour by hour. The zero Period is: none open,
// nothing in doubt.
type Period struct {
	Wet   int     // wet hours counted
	Known int     // of these with a known temperature
	Sum   float64 // of their temperatures, C
	Dry   int     // dry hours since the last wet one that count to the gap
	Open  bool    //
	// Waiting: begun by night and not yet counting.
	Waiting bool
	// Doubt: an unknown hour may have begun, ended or lengthened a period.
	Doubt bool
	// Spoilt: the open period, or the one that just ended, was in doubt at some
	// time.
	Spoilt bool
	// Reached has a bit for each class of infection that the period has reached.
	Reached uint8
	Sure    int // dry hours that count to the gap since the last hour that may have been wet
}

// Hour adds an hour and says whether the period ended with it, having lasted:
// then Wet, Known and Sum still hold it until the next Hour. gap is the number of
// dry hours that end a period. night says that a period which begins in this hour
// waits for the first hour that is not night.
//
// Unknown hours neither lengthen a period nor count to its gap; they set Doubt,
// which lasts until gap dry hours that are known to count have followed.
func (p *Period) Hour(leaf Leaf, temp float64, gap int, night bool) (ended bool) {
	if !night {
		p.Waiting = false
	}
	switch leaf {
	case LeafWet:
		if !p.Open {
			*p = Period{Open: true, Waiting: night, Doubt: p.Doubt, Spoilt: p.Doubt}
		}
		p.Dry, p.Sure = 0, 0
		if p.Waiting {
			return false
		}
		p.Wet++
		if temp == temp {
			p.Known++
			p.Sum += temp
		} else {
			p.Doubt, p.Spoilt = true, true
		}
	case LeafUnknown:
		p.Doubt, p.Spoilt, p.Sure = true, true, 0
	case LeafDryOrDamp:
		if p.Open {
			p.Doubt, p.Spoilt = true, true
		}
	case LeafDry:
		return p.DryHours(1, gap)
	}
	return false
}

// DryHours adds n hours that are dry and count to the gap, as so many calls of
// Hour would.
func (p *Period) DryHours(n, gap int) (ended bool) {
	if p.Open || p.Doubt {
		if p.Sure += n; p.Sure >= gap {
			p.Doubt, p.Sure = false, 0
		}
	}
	if p.Open {
		if p.Dry += n; p.Dry >= gap {
			p.Open, p.Waiting, p.Dry = false, false, 0
			return p.Wet > 0
		}
	}
	return false
}

// Mean returns the mean temperature of the wet hours so far, C; NaN when none is
// known.
func (p *Period) Mean() float64 { return p.Sum / float64(p.Known) }
