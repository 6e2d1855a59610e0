package model

import (
	"math"
	"slices"
	"sort"

	"plotwarden/risk/disease"
	"plotwarden/risk/wetness"
)

// spells are the wet periods of a season as one way of putting hours together
// makes them. Rules that part periods alike share them and differ only in what
// they ask of a period's hours and mean temperature.
type spells struct {
	marks
	of   *states
	rule *Period
	// The period as it stood at the begin of each day, and at the end of the last.
	begins []disease.Period
	runs   []spellDay // up to the first hole
	means  []float64  // mean temperature of the period so far, at each hour of the runs, C
	ends   []spellEnd
	odd    []oddSpell
	hole   int32 // first day with a wet hour of unknown temperature
}

// spellDay is the counted wet hours of a period in one day.
type spellDay struct {
	day   int32
	at    int32 // index into means of the first
	n     int32
	wet   int32 // counted wet hours of the period before them; 0 begins a period
	doubt bool  // an unknown hour may have begun, ended or lengthened the period
}

// spellEnd is the end of a period of which a temperature is known.
type spellEnd struct {
	day    int32
	wet    int32
	mean   float64 // C
	spoilt bool    // the period was in doubt at some time
}

// oddSpell is a day on which something about wet periods is not known.
type oddSpell struct {
	day      int32
	unknown  uint8 // hours of unknown state or, when wet, temperature
	mayBeWet uint8 // hours wet or unknown
	doubt    bool  // a period was in doubt in an hour that may have been wet
	doubted  bool  // a period was in doubt when the day began
}

type spellKey struct {
	of          *states
	gap         int
	gapHumidity float64
	night       Night // the zero one is none
}

const noHole = math.MaxInt32

// spellsOf returns the up-to-date wet periods of a column's rule.
func (p *Period) spellsOf(e *env, c *column) *spells {
	c.statesOf(e, &p.Hours)
	if c.spells == nil || c.spells.gone || c.spells.of != c.states {
		k := spellKey{of: c.states, gap: p.Gap, gapHumidity: p.GapHumidity}
		if p.Night != nil {
			k.night = *p.Night
		}
		c.spells = part(e.sn, e.sn.spells, k, func() *spells { return &spells{of: c.states, rule: p, hole: noHole} })
	}
	c.spells.refresh(e.sn)
	return c.spells
}

func (c *spells) refresh(sn *Season) {
	from := sn.firstDay(Calendar, c.take(sn))
	if from == fresh {
		return
	}
	k := c.rule.walk(sn, c.of)
	from = min(from, len(k.ws), max(0, len(c.begins)-1))
	c.cut(from)
	c.begins = grow(c.begins, len(k.ws)+1)
	if from == 0 {
		// What went before the series is unknown: a period may have been under way.
		c.begins[0] = disease.Period{Doubt: true}
	}
	if cap(c.means) == 0 {
		c.means = make([]float64, 0, c.of.wet())
		c.runs = make([]spellDay, 0, len(k.ws))
		c.ends = make([]spellEnd, 0, len(k.ws))
	}
	k.to = c
	for d := from; d < len(k.ws); d++ {
		if !c.plainDay(&k, d) {
			k.p = c.begins[d]
			c.day(&k, d)
		}
		c.begins[d+1] = k.p
	}
}

// cut forgets what happened from a day on.
func (c *spells) cut(from int) {
	c.runs = c.runs[:c.firstRun(from)]
	c.ends = c.ends[:c.firstEnd(from)]
	c.odd = c.odd[:c.firstOdd(from)]
	c.means = c.means[:0]
	if n := len(c.runs); n > 0 {
		c.means = c.means[:c.runs[n-1].at+c.runs[n-1].n]
	}
	if int(c.hole) >= from {
		c.hole = noHole
	}
}

func (c *spells) firstRun(day int) int {
	return sort.Search(len(c.runs), func(i int) bool { return int(c.runs[i].day) >= day })
}

func (c *spells) firstEnd(day int) int {
	return sort.Search(len(c.ends), func(i int) bool { return int(c.ends[i].day) >= day })
}

func (c *spells) firstOdd(day int) int {
	return sort.Search(len(c.odd), func(i int) bool { return int(c.odd[i].day) >= day })
}

// plainDay is day for days of which all is known and that no night holds up, nearly
// all of them. When it finds that the day is not one of those it changes nothing
// and returns false.
func (c *spells) plainDay(k *walk, d int) bool {
	p := c.begins[d]
	w := &k.ws[d]
	if p.Doubt || p.Spoilt && p.Open || k.clock != nil || k.temp == nil || w.From < 0 || c.hole != noHole {
		return false
	}
	runs, ends, means := len(c.runs), len(c.ends), c.means
	run := spellDay{day: int32(d), at: int32(len(means)), wet: int32(p.Wet)}
	i := w.From
	for _, part := range k.parts[k.partsOf[d]:k.partsOf[d+1]] {
		j := int(part.end)
		switch part.state {
		case wetness.Wet:
			if !p.Open {
				p = disease.Period{Open: true}
				run = spellDay{day: int32(d), at: int32(len(means))}
			}
			temps := k.temp[i:j]
			have := len(means)
			means = slices.Grow(means, len(temps))[:have+len(temps)]
			sum, n := p.Sum, float64(p.Wet)
			for x, mean := 0, means[have:][:len(temps)]; x < len(mean); x++ {
				sum += temps[x]
				n++
				mean[x] = sum / n
			}
			p.Dry, p.Sure, p.Sum, p.Wet = 0, 0, sum, p.Wet+j-i
			run.n += int32(j - i)
		case wetness.Dry:
			dry := j - i
			if !p.Open {
				break
			}
			if k.damp {
				var known int
				if dry, known = k.dryBelow(i, j); known < j-i {
					p.Sum = nan
					break
				}
			}
			if p.Dry += dry; p.Dry < k.rule.Gap {
				p.Sure = p.Dry
				break
			}
			if run.n > 0 {
				c.runs = append(c.runs, run)
				run.n = 0
			}
			p.Known = p.Wet
			c.ends = append(c.ends, spellEnd{day: int32(d), wet: int32(p.Wet), mean: p.Mean()})
			p.Open, p.Dry, p.Sure = false, 0, 0
		default:
			p.Sum = nan
		}
		i = j
		if p.Sum != p.Sum {
			c.runs, c.ends = c.runs[:runs], c.ends[:ends]
			return false
		}
	}
	if run.n > 0 {
		c.runs = append(c.runs, run)
	}
	p.Known = p.Wet
	c.means, k.p = means, p
	return true
}

// day goes through the hours of day d.
func (c *spells) day(k *walk, d int) {
	i := k.begin(d)
	odd, spoilt := oddSpell{day: int32(d), doubted: k.p.Doubt}, false
	for _, part := range k.parts[k.partsOf[d]:k.partsOf[d+1]] {
		ended := k.stretch(i, int(part.end), part.state)
		if i = int(part.end); ended && k.p.Known > 0 {
			c.ends = append(c.ends, spellEnd{k.day, int32(k.p.Wet), k.p.Mean(), k.p.Spoilt})
			spoilt = spoilt || k.p.Spoilt
		}
	}
	if k.unknown > 0 || k.doubt || odd.doubted || spoilt {
		odd.unknown, odd.doubt, odd.mayBeWet = uint8(k.unknown), k.doubt, uint8(k.mayBeWet(d))
		c.odd = append(c.odd, odd)
	}
}

// counted adds counted wet hours whose means were appended.
func (c *spells) counted(day int32, wet, n int, doubt bool) {
	if wet > 0 {
		if r := &c.runs[len(c.runs)-1]; r.day == day && r.doubt == doubt {
			r.n += int32(n)
			return
		}
	}
	c.runs = append(c.runs, spellDay{day: day, at: int32(len(c.means) - n), n: int32(n), wet: int32(wet), doubt: doubt})
}

// wet returns how many hours are wet.
func (c *states) wet() (n int) {
	from := 0
	for _, p := range c.parts {
		if p.state == wetness.Wet {
			n += int(p.end) - from
		}
		from = int(p.end)
	}
	return n
}
