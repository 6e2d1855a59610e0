package model

import (
	"math"

	"plotwarden/risk"
	"plotwarden/risk/disease"
	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

// Run computes the track.
func (s *SeverityTable) Run(in *Input) (*risk.Track, error) { return run(s, in) }

func (s *SeverityTable) key(e *env) any       { return bedKey{s, e.bed, string(cautious(e.sus))} }
func (s *SeverityTable) days() DayKind        { return s.Day }
func (s *SeverityTable) hourly() bool         { return true }
func (s *SeverityTable) infections() []string { return nil }

func (s *SeverityTable) most(e *env) float64 {
	t := s.table(e.sus)
	if s.Count == SumOfRuns {
		return t.MostOfRuns(25, 25)
	}
	return t.Most(25)
}

func (s *SeverityTable) total(r *Runner, from int) {
	sum{last: s.SumDays, reset: s.ResetAtSpray}.total(r, from)
}

// scorer scores days by a table.
type scorer struct {
	rule   *SeverityTable
	table  *disease.Table
	states []wetness.State
	temp   []float64 // nil when no temperature is known
}

func (s *SeverityTable) fill(e *env, c *column, from int) {
	k := scorer{s, s.table(e.sus), c.statesOf(e, &s.Hours), e.sn.w.Column(weather.Temp)}
	tallies := c.talliesOf(e, &s.Hours, s.Day)
	ws := e.sn.window(s.Day)
	plain := s.Count == Total && s.Mean == CountedHours
	for i := from; i < len(c.v); i++ {
		t := &tallies[i]
		if t.wet == 0 && t.unknown == 0 {
			c.v[i] = 0
			continue
		}
		if plain && !t.unsure() {
			c.v[i] = k.table.Value(t.sum/float64(t.warm), int(t.wet))
			continue
		}
		a, z, before := inside(ws[i], e.sn.w.Len())
		v := k.value(t, a, z)
		d := dayValue{value: v, low: v, high: v}
		if t.unsure() || (s.Mean == WholeDay && k.holes(a, z)) {
			d.low, d.high = k.bounds(t, a, z, before)
			d.low, d.high = min(d.low, v), max(d.high, v)
			d.unknown = t.unknown + t.wet - t.warm
		}
		c.set(i, d)
	}
}

// value scores the hours that are known, hours from a up to z.
func (k *scorer) value(t *tally, a, z int) float64 {
	if k.rule.Count == Total {
		mean := t.sum / float64(t.warm)
		if k.rule.Mean == WholeDay {
			mean = k.mean(a, z)
		}
		return k.table.Value(mean, int(t.wet))
	}
	best, sum := wetRun{mean: math.NaN()}, 0.0
	for i := a; i < z; {
		if k.states[i] != wetness.Wet {
			i++
			continue
		}
		r := k.run(i, z)
		i = r.end
		if k.rule.Mean == WholeDay {
			r.mean = k.mean(a, z)
		}
		sum += k.table.Value(r.mean, r.hours)
		if r.hours > best.hours {
			best = r
		}
	}
	if k.rule.Count == LongestRun {
		return k.table.Value(best.mean, best.hours)
	}
	return sum
}

// wetRun is an unbroken run of wet hours.
type wetRun struct {
	hours, end int
	mean       float64 // of its known temperatures; NaN when none is
}

// run returns the run that begins at hour i.
func (k *scorer) run(i, z int) wetRun {
	a := i
	for ; i < z && k.states[i] == wetness.Wet; i++ {
	}
	return wetRun{hours: i - a, end: i, mean: k.mean(a, i)}
}

// mean returns the mean temperature of the known hours.
func (k *scorer) mean(a, z int) float64 {
	if k.temp == nil {
		return math.NaN()
	}
	sum, known := sumKnown(k.temp[a:z])
	return sum / float64(known)
}

// holes says whether an hour's temperature is unknown.
func (k *scorer) holes(a, z int) bool {
	if k.temp == nil {
		return true
	}
	_, known := sumKnown(k.temp[a:z])
	return known < z-a
}

// bounds returns between what the day's value lies when some of its hours are
// unknown, before of them before the series.
func (k *scorer) bounds(t *tally, a, z, before int) (low, high float64) {
	hours := int(t.wet) + int(t.unknown)
	switch k.rule.Count {
	case SumOfRuns: // unknown hours can join and part runs in any way
		return 0, k.table.MostOfRuns(hours, z-a+before)
	case LongestRun:
		return 0, k.table.Most(hours)
	}
	coldest, warmest := k.means(t, a, z, before)
	return k.table.Span(int(t.wet), hours, coldest, warmest)
}

// means returns between what the mean temperature lies.
func (k *scorer) means(t *tally, a, z, before int) (coldest, warmest float64) {
	// must: hours that are in the mean for sure but have no temperature. may:
	// hours that may be in it. low and high bound the temperatures of both.
	must, may, low, high := 0, 0, math.Inf(1), math.Inf(-1)
	sum, known := t.sum, int(t.warm)
	widen := func(x float64) {
		if x != x {
			low, high = disease.AirLow, disease.AirHigh
			return
		}
		low, high = min(low, x), max(high, x)
	}
	if before > 0 {
		widen(math.NaN())
	}
	for i := a; i < z; i++ {
		x := math.NaN()
		if k.temp != nil {
			x = k.temp[i]
		}
		switch {
		case k.rule.Mean == WholeDay:
			if x != x {
				must++
				widen(x)
			}
		case k.states[i] == wetness.Unknown:
			may++
			widen(x)
		case k.states[i] == wetness.Wet && x != x:
			must++
			widen(x)
		}
	}
	if k.rule.Mean == WholeDay {
		must += before
		sum, known = 0, 0
		if k.temp != nil {
			sum, known = sumKnown(k.temp[a:z])
		}
	} else {
		may += before
	}
	mean := func(n int, x float64) float64 {
		if n == 0 {
			return sum / float64(known)
		}
		return (sum + float64(n)*x) / float64(known+n)
	}
	// Adding hours of one temperature moves a mean one way, so the ends decide.
	coldest, warmest = math.Inf(1), math.Inf(-1)
	for _, n := range [2]int{must, must + may} {
		if n+known > 0 {
			coldest, warmest = min(coldest, mean(n, low)), max(warmest, mean(n, high))
		}
	}
	return coldest, warmest
}
