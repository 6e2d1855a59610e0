package model

// need says when a wet period has lasted long enough.
type need interface {
	Least() int
	Met(hours int, mean float64) bool
	At(mean float64) float64
	Limits() (low, high []float64)
}

// infect finds the infections of wet periods by class.
func (p *Period) infect(e *env, c *column, from int, needs []need) {
	s := p.spellsOf(e, c)
	f := finder{spells: s, c: c, needs: needs, least: leastOf(needs), all: uint8(1<<len(needs) - 1)}
	if len(needs) == 1 {
		f.low, f.high = needs[0].Limits()
	}
	if s.hole != noHole {
		p.infectAlone(e, c, s, from, &f)
		return
	}
	clear(c.v[from:])
	first := s.firstRun(from)
	reached := f.reachedBefore(first)
	f.record = true
	for i := first; i < len(s.runs); i++ {
		r := &s.runs[i]
		if r.wet == 0 {
			reached = 0
		}
		if reached != f.all && int(r.wet+r.n) >= f.least {
			reached = f.run(r, reached)
		}
	}
	for i := s.firstOdd(from); i < len(s.odd); i++ {
		p.oddDay(&f, &s.odd[i])
	}
}

// oddDay bounds the value of a day of which something is not known.
func (p *Period) oddDay(f *finder, o *oddSpell) {
	if o.unknown == 0 && !o.doubt {
		return
	}
	x := f.c.v[o.day]
	v := dayValue{value: x, low: x, high: x, unknown: o.unknown}
	for i := len(f.c.hits) - 1; i >= 0 && f.c.hits[i].day >= o.day; i-- {
		if h := &f.c.hits[i]; h.day == o.day && h.doubt {
			v.low--
		}
	}
	if o.doubt {
		v.high = max(v.value, p.mostInfections(f.least, int(o.mayBeWet), len(f.needs)))
	}
	f.c.set(int(o.day), v)
}

func leastOf(needs []need) int {
	least := needs[0].Least()
	for _, n := range needs {
		least = min(least, n.Least())
	}
	return least
}

// finder finds infections in the counted hours of wet periods.
type finder struct {
	*spells
	c         *column
	needs     []need
	least     int
	all       uint8     // a bit for each class
	low, high []float64 // of a single need: see Limits
	limits    []limits  // by class, when there are several
	record    bool      // what is found goes to the column
}

// reachedBefore returns the classes that the period of the run before run i has
// reached.
func (f *finder) reachedBefore(i int) (reached uint8) {
	b := i
	for b > 0 {
		if b--; f.runs[b].wet == 0 {
			break
		}
	}
	for ; b < i && reached != f.all; b++ {
		reached = f.run(&f.runs[b], reached)
	}
	return reached
}

// run looks through a run for the classes not yet reached and returns those that
// are at its end.
func (f *finder) run(r *spellDay, reached uint8) uint8 {
	skip := max(0, f.least-1-int(r.wet)) // too short before
	if skip >= int(r.n) {
		return reached
	}
	means, wet := f.means[int(r.at)+skip:r.at+r.n], int(r.wet)+skip
	if f.low != nil {
		if m, met := f.first(means, wet+1-f.least); met {
			f.hit(r, 0, m)
			return f.all
		}
		return reached
	}
	if len(f.limits) == 0 {
		f.limits = make([]limits, len(f.needs))
		for class, n := range f.needs {
			low, high := n.Limits()
			f.limits[class] = limits{n.Least(), low, high}
		}
	}
	for i, m := range means {
		for class := range f.limits {
			if bit := uint8(1) << class; reached&bit == 0 && f.met(class, wet+i+1, m) {
				f.hit(r, class, m)
				reached |= bit
			}
		}
	}
	return reached
}

// met says whether so many hours at a mean temperature are enough for a class.
func (f *finder) met(class, hours int, mean float64) bool {
	l := &f.limits[class]
	if l.low == nil {
		return f.needs[class].Met(hours, mean)
	}
	k := min(hours-l.least, len(l.low)-1)
	return k >= 0 && mean >= l.low[k] && mean <= l.high[k]
}

// limits are those of one class: see need.
type limits struct {
	least     int
	low, high []float64
}

// first returns the first mean that lies within the limits; they begin with the
// k-th and the last holds on.
func (f *finder) first(means []float64, k int) (mean float64, met bool) {
	last := len(f.low) - 1
	if n := min(last-k, len(means)); n > 0 {
		low, high := f.low[k:k+n], f.high[k:k+n]
		for i, m := range means[:n] {
			if m >= low[i] && m <= high[i] {
				return m, true
			}
		}
		means = means[n:]
	}
	low, high := f.low[last], f.high[last]
	for _, m := range means {
		if m >= low && m <= high {
			return m, true
		}
	}
	return 0, false
}

// hit records an infection.
func (f *finder) hit(r *spellDay, class int, mean float64) {
	if f.record {
		f.c.v[r.day]++
		f.c.hits = append(f.c.hits, hit{r.day, uint8(class), r.doubt, f.needs[class].At(mean)})
	}
}

// mostInfections bounds the infections of a day with so many hours that may be
// wet: between two lie a gap and the wet hours of the second.
func (p *Period) mostInfections(least, hours, classes int) float64 {
	return float64(classes * min(1+24/(least+p.Gap), 1+hours/max(1, least)))
}
