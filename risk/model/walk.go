package model

import (
	"slices"

	"plotwarden/risk/disease"
	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

// walk goes through the hours of wet periods, day by day.
type walk struct {
	rule   *Period
	states []wetness.State
	temp   []float64
	rh     []float64 // nil when every dry hour counts to the gap
	damp   bool      // the rule has a gap humidity
	clock  []uint8   // nil when nights count
	ws     []weather.Window

	parts   []stretch
	partsOf []int32

	p disease.Period
	// Of the day.
	day     int32
	unknown int  // hours of unknown state or, when wet, temperature
	doubt   bool // a period was in doubt in an hour that may have been wet

	to *spells // takes the wet hours that count; nil when they are not kept
}

// walk makes a walk; its p is the caller's to set.
func (p *Period) walk(sn *Season, of *states) walk {
	k := walk{rule: p, states: of.get(sn), temp: sn.w.Column(weather.Temp), damp: p.GapHumidity > 0, ws: sn.window(Calendar)}
	if k.damp {
		k.rh = sn.w.Column(weather.RH)
	}
	if p.Night != nil {
		k.clock = sn.clock(LocalClock)
	}
	k.parts, k.partsOf = of.stretches(sn)
	return k
}

// begin starts day d and returns its first hour.
func (k *walk) begin(d int) (from int) {
	k.day = int32(d)
	from, _, k.unknown = inside(k.ws[d], len(k.states))
	k.doubt = k.unknown > 0
	return from
}

// mayBeWet returns how many hours of day d are wet or unknown.
func (k *walk) mayBeWet(d int) int {
	from, to, before := inside(k.ws[d], len(k.states))
	wet, unknown := countStates(k.states[from:to])
	return wet + unknown + before
}

// stretch goes through hours i up to j, all of one state, and says whether a
// period that had lasted ended in them.
func (k *walk) stretch(i, j int, state wetness.State) (ended bool) {
	p := &k.p
	switch {
	case state == wetness.Unknown:
		for ; i < j; i++ {
			p.Hour(disease.LeafUnknown, 0, k.rule.Gap, p.Waiting && k.night(i))
			k.unknown++
		}
		k.doubt = true
	case state == wetness.Wet:
		for ; i < j && (!p.Open || p.Waiting || k.temp == nil); i++ {
			k.wet(i)
		}
		if i < j {
			k.add(i, j)
		}
	case !p.Open && !p.Doubt: // nothing to end
	case p.Waiting:
		for ; i < j; i++ {
			ended = p.Hour(k.dry(i), 0, k.rule.Gap, p.Waiting && k.night(i)) || ended
		}
	case !k.damp:
		return p.DryHours(j-i, k.rule.Gap)
	default:
		return k.dryOrDamp(i, j)
	}
	return ended
}

// add lengthens an open period that counts by wet hours.
func (k *walk) add(i, j int) {
	p := &k.p
	p.Dry, p.Sure = 0, 0
	if k.keeps() && k.keep(i, j) {
		k.doubt = k.doubt || p.Doubt
		return
	}
	sum, known := p.Sum, 0
	for _, t := range k.temp[i:j] {
		if t == t {
			sum += t
			known++
		}
	}
	p.Wet, p.Known, p.Sum = p.Wet+j-i, p.Known+known, sum
	if holes := j - i - known; holes > 0 {
		p.Doubt, p.Spoilt = true, true
		k.missed(holes)
	}
	k.doubt = k.doubt || p.Doubt
}

// keep is add for hours whose temperatures are all known, and keeps the means.
func (k *walk) keep(i, j int) bool {
	p, c := &k.p, k.to
	have := len(c.means)
	if have+j-i > cap(c.means) {
		c.means = slices.Grow(c.means, j-i)
	}
	temps := k.temp[i:j]
	means := c.means[have : have+len(temps)]
	sum, n := p.Sum, float64(p.Known)
	for x, t := range temps {
		sum += t
		n++
		means[x] = sum / n
	}
	if sum != sum {
		return false
	}
	c.means = c.means[:have+len(temps)]
	c.counted(k.day, p.Wet, len(temps), p.Doubt)
	p.Wet, p.Known, p.Sum = p.Wet+len(temps), p.Known+len(temps), sum
	return true
}

// dryOrDamp goes through dry hours of which those too humid do not count to the
// gap. Where all are known their order does not matter.
func (k *walk) dryOrDamp(i, j int) (ended bool) {
	dry, known := k.dryBelow(i, j)
	if known == j-i {
		return dry > 0 && k.p.DryHours(dry, k.rule.Gap)
	}
	for ; i < j; i++ {
		ended = k.p.Hour(k.dry(i), 0, k.rule.Gap, false) || ended
	}
	return ended
}

func (k *walk) wet(i int) {
	t := nan
	if k.temp != nil {
		t = k.temp[i]
	}
	k.p.Hour(disease.LeafWet, t, k.rule.Gap, (!k.p.Open || k.p.Waiting) && k.night(i))
	k.doubt = k.doubt || k.p.Doubt
	if t != t {
		k.missed(1)
	} else if k.keeps() && !k.p.Waiting {
		k.to.means = append(k.to.means, k.p.Mean())
		k.to.counted(k.day, k.p.Wet-1, 1, k.p.Doubt)
	}
}

// dryBelow returns how many hours are dry enough to count to the gap, and of how
// many that is known.
func (k *walk) dryBelow(i, j int) (dry, known int) {
	if k.rh == nil {
		return 0, 0
	}
	limit, all := k.rule.GapHumidity, 0.0
	for _, h := range k.rh[i:j] {
		all += h
		dry += int(one(h < limit))
	}
	if all == all {
		return dry, j - i
	}
	for _, h := range k.rh[i:j] {
		known += int(one(h == h))
	}
	return dry, known
}

// keeps says whether counted hours are kept: as long as all have temperatures.
func (k *walk) keeps() bool { return k.to != nil && k.to.hole == noHole }

// missed counts wet hours of unknown temperature.
func (k *walk) missed(hours int) {
	k.unknown += hours
	if k.to != nil && hours > 0 {
		k.to.hole = min(k.to.hole, k.day)
	}
}

func (k *walk) dry(i int) disease.Leaf {
	switch {
	case !k.damp:
		return disease.LeafDry
	case k.rh == nil || k.rh[i] != k.rh[i]:
		return disease.LeafDryOrDamp
	case k.rh[i] < k.rule.GapHumidity:
		return disease.LeafDry
	}
	return disease.LeafDamp
}

func (k *walk) night(i int) bool {
	return k.clock != nil && (int(k.clock[i]) >= k.rule.Night.From || int(k.clock[i]) < k.rule.Night.To)
}
