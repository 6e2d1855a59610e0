package model

import (
	"math/bits"

	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

// states are the states of all hours by one rule for hours that count.
type states struct {
	marks
	k stateKey
	s []wetness.State
	// Stretches of hours of one state, none across the begin of a calendar day,
	// and the first of each day and the end; only when a rule asks for them.
	parts   []stretch
	partsOf []int32
	// The first hour whose stretches are out of date.
	partsFrom int
}

// stretch is hours of one state up to and not including end.
type stretch struct {
	end   int32
	state wetness.State
}

type stateKey struct {
	humidity float64
	above    bool
	wet      wetRule
	bed      bed
}

// key makes two rules that ask the same share one set of states. Cover and
// irrigation matter to wetness alone.
func (h *Hours) key(b bed) stateKey {
	if h.Wetness == nil {
		return stateKey{humidity: h.Humidity, above: h.Above}
	}
	return stateKey{wet: h.Wetness.Defaults(), bed: b}
}

// statesOf returns the states of the hours of a column's rule. The column keeps
// them at hand.
func (c *column) statesOf(e *env, h *Hours) []wetness.State {
	if c.states == nil || c.states.gone {
		k := h.key(e.bed)
		c.states = part(e.sn, e.sn.states, k, func() *states { return &states{k: k} })
	}
	return c.states.get(e.sn)
}

func (c *states) get(sn *Season) []wetness.State {
	from, k := c.take(sn), &c.k
	if from == fresh {
		return c.s
	}
	c.partsFrom = min(c.partsFrom, from)
	if k.wet.Method != "" {
		var watered []int
		if k.bed.water >= 0 {
			watered = sn.watered[k.bed.water]
		}
		c.s = k.wet.Update(sn.w, k.bed.cover, watered, c.s, from)
		return c.s
	}
	c.s = grow(c.s, sn.w.Len())
	humid(sn.w.Column(weather.RH), c.s, k.humidity, k.above, from)
	return c.s
}

// stretches returns the stretches of the hours and where those of each calendar
// day begin.
func (c *states) stretches(sn *Season) ([]stretch, []int32) {
	ss, ws := c.get(sn), sn.window(Calendar)
	if c.partsFrom == fresh {
		return c.parts, c.partsOf
	}
	from := min(sn.firstDay(Calendar, c.partsFrom), max(0, len(c.partsOf)-1))
	c.partsFrom = fresh
	c.partsOf = grow(c.partsOf, len(ws)+1)
	c.parts = c.parts[:c.partsOf[from]]
	for d := from; d < len(ws); d++ {
		c.partsOf[d] = int32(len(c.parts))
		for i, z, _ := inside(ws[d], len(ss)); i < z; {
			s := ss[i]
			for i++; i < z && ss[i] == s; i++ {
			}
			c.parts = append(c.parts, stretch{int32(i), s})
		}
	}
	c.partsOf[len(ws)] = int32(len(c.parts))
	return c.parts, c.partsOf
}

// humid judges hours by relative humidity alone.
func humid(rh []float64, out []wetness.State, limit float64, above bool, from int) {
	if rh == nil {
		clear(out[from:])
		return
	}
	rh = rh[from:]
	out = out[from:][:len(rh)]
	// Unknown, Dry and Wet are 0, 1 and 2: one for a known hour, one more for a
	// humid one. NaN compares false.
	all := 0.0
	if above {
		for i, h := range rh {
			all += h
			out[i] = wetness.Dry + wetness.State(one(h > limit))
		}
	} else {
		for i, h := range rh {
			all += h
			out[i] = wetness.Dry + wetness.State(one(h >= limit))
		}
	}
	if all == all {
		return
	}
	for i, h := range rh {
		if h != h {
			out[i] = wetness.Unknown
		}
	}
}

// one is 1 for true, without a branch.
func one(b bool) uint8 {
	var n uint8
	if b {
		n = 1
	}
	return n
}

// tallies count, day by day, the hours that count.
type tallies struct {
	marks
	of *states
	t  []tally
}

type tallyKey struct {
	of   *states
	kind DayKind
}

// tally is one day's count. Hours before the series are unknown.
type tally struct {
	sum     float64 // of the known temperatures of the wet hours
	wet     uint8
	warm    uint8 // wet hours with a known temperature
	unknown uint8 // hours of unknown state
}

// unsure says whether the day has anything unknown.
func (t *tally) unsure() bool { return t.unknown > 0 || t.warm < t.wet }

// talliesOf returns the counts of a column's rule.
func (c *column) talliesOf(e *env, h *Hours, kind DayKind) []tally {
	c.statesOf(e, h)
	if c.tallies == nil || c.tallies.gone || c.tallies.of != c.states {
		k := tallyKey{c.states, kind}
		c.tallies = part(e.sn, e.sn.tallies, k, func() *tallies { return &tallies{of: c.states} })
	}
	return c.tallies.get(e.sn, kind)
}

func (c *tallies) get(sn *Season, kind DayKind) []tally {
	from := sn.firstDay(kind, c.take(sn))
	if from == fresh {
		return c.t
	}
	ss, ws, temp := c.of.get(sn), sn.window(kind), sn.w.Column(weather.Temp)
	c.t = grow(c.t, len(ws))
	for i := from; i < len(ws); i++ {
		a, z, before := inside(ws[i], sn.w.Len())
		temps := temp
		if temp != nil {
			temps = temp[a:z]
		}
		c.t[i] = count(ss[a:z], temps)
		c.t[i].unknown += uint8(before)
	}
	return c.t
}

// count counts the hours of a day; temps are their temperatures, nil when none is
// known.
func count(ss []wetness.State, temps []float64) (t tally) {
	wet, known, sum := uint64(0), uint64(0), 0.0 // a byte for each eighth hour
	i := 0
	for ; i+8 <= len(ss) && i+8 <= len(temps); i += 8 {
		s, x := (*[8]wetness.State)(ss[i:]), (*[8]float64)(temps[i:])
		w := uint64(s[0]) | uint64(s[1])<<8 | uint64(s[2])<<16 | uint64(s[3])<<24 |
			uint64(s[4])<<32 | uint64(s[5])<<40 | uint64(s[6])<<48 | uint64(s[7])<<56
		known += (w | w>>1) & ones
		if w = w >> 1 & ones; w == 0 {
			continue
		}
		wet += w
		// In order, hour by hour. What is not wet is added as 0, which changes
		// nothing: a branch an hour would cost more.
		sum += when(w, x[0])
		sum += when(w>>8, x[1])
		sum += when(w>>16, x[2])
		sum += when(w>>24, x[3])
		sum += when(w>>32, x[4])
		sum += when(w>>40, x[5])
		sum += when(w>>48, x[6])
		sum += when(w>>56, x[7])
	}
	for ; i < len(ss); i += 8 { // what is left, or all when there are no temperatures
		w := eight(ss, i)
		known += (w | w>>1) & ones
		w = w >> 1 & ones
		wet += w
		for ; w != 0 && temps != nil; w &= w - 1 { // a bit for each wet hour
			sum += temps[i+bits.TrailingZeros64(w)/8]
		}
	}
	t = tally{wet: uint8(wet * ones >> 56), unknown: uint8(len(ss)) - uint8(known*ones>>56)}
	switch {
	case temps == nil:
	case sum == sum:
		t.sum, t.warm = sum, t.wet
	default: // some of the temperatures are unknown, of wet hours or others
		for i, s := range ss {
			if s == wetness.Wet && temps[i] == temps[i] {
				t.sum += temps[i]
				t.warm++
			}
		}
	}
	return t
}

// when is the temperature of an hour whose last bit is 1, and 0 of another.
func when(w uint64, temp float64) float64 { return temp * bit[w&1] }

var bit = [2]float64{0, 1}

const ones = 0x0101010101010101

// eight returns the states from i on as the bytes of one number. Unknown, Dry and
// Wet are 0, 1 and 2; hours beyond the last are 0.
func eight(ss []wetness.State, i int) (w uint64) {
	if i+8 <= len(ss) {
		ss = ss[i : i+8]
		return uint64(ss[0]) | uint64(ss[1])<<8 | uint64(ss[2])<<16 | uint64(ss[3])<<24 |
			uint64(ss[4])<<32 | uint64(ss[5])<<40 | uint64(ss[6])<<48 | uint64(ss[7])<<56
	}
	for k, s := range ss[i:] {
		w |= uint64(s) << (8 * k)
	}
	return w
}

// countStates counts hours that are wet and that are unknown.
func countStates(ss []wetness.State) (wet, unknown int) {
	t := count(ss, nil)
	return int(t.wet), int(t.unknown)
}
