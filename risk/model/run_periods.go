package model

import (
	"plotwarden/risk"
	"plotwarden/risk/disease"
	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

// need says when a wet period has lasted long enough.
type need interface {
	Least() int
	Met(hours int, mean float64) bool
	At(mean float64) float64
	Limits() (low, high []float64)
}

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
	unknown int  // hours of unknown state or, when wet, temperature
	doubt   bool // a period was in doubt in an hour that may have been wet
}

func (p *Period) walk(e *env, c *column) walk {
	k := walk{
		rule: p, states: c.statesOf(e, &p.Hours), temp: e.sn.w.Column(weather.Temp),
		damp: p.GapHumidity > 0, ws: e.sn.window(Calendar),
	}
	if k.damp {
		k.rh = e.sn.w.Column(weather.RH)
	}
	if p.Night != nil {
		k.clock = e.sn.clock(LocalClock)
	}
	k.parts, k.partsOf = c.states.stretches(e.sn)
	c.periods = grow(c.periods, len(k.ws)+1)
	return k
}

// begin starts day d and returns its first hour.
func (k *walk) begin(c *column, d int) (from int) {
	from, _, k.unknown = inside(k.ws[d], len(k.states))
	k.doubt = k.unknown > 0
	// What went before the series is unknown: a period may have been under way.
	k.p = disease.Period{Doubt: true}
	if d > 0 {
		k.p = c.periods[d]
	}
	return from
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
		k.unknown += holes
	}
	k.doubt = k.doubt || p.Doubt
}

// dryOrDamp goes through dry hours of which those too humid do not count to the
// gap. Where all are known their order does not matter.
func (k *walk) dryOrDamp(i, j int) (ended bool) {
	dry, known := 0, 0
	if k.rh != nil {
		for _, h := range k.rh[i:j] {
			dry += int(one(h < k.rule.GapHumidity))
			known += int(one(h == h))
		}
	}
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
		k.unknown++
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

// infect finds the infections of wet periods by class.
func (p *Period) infect(e *env, c *column, from int, needs []need) {
	k := p.walk(e, c)
	f := finder{walk: &k, needs: needs, least: leastOf(needs), all: uint8(1<<len(needs) - 1), c: c}
	if len(needs) == 1 {
		f.low, f.high = needs[0].Limits()
	}
	for d := from; d < len(c.v); d++ {
		f.v, f.inDoubt, f.day = 0, 0, int32(d)
		i := k.begin(c, d)
		for _, s := range k.parts[k.partsOf[d]:k.partsOf[d+1]] {
			f.stretch(i, int(s.end), s.state)
			i = int(s.end)
		}
		v := dayValue{value: f.v, low: f.v - f.inDoubt, high: f.v, unknown: uint8(k.unknown)}
		if k.doubt {
			v.high = max(v.value, p.mostInfections(f.least, k.mayBeWet(d), len(needs)))
		}
		c.set(d, v)
		c.periods[d+1] = k.p
	}
}

// mayBeWet returns how many hours of day d are wet or unknown.
func (k *walk) mayBeWet(d int) int {
	from, to, before := inside(k.ws[d], len(k.states))
	wet, unknown := countStates(k.states[from:to])
	return wet + unknown + before
}

func leastOf(needs []need) int {
	least := needs[0].Least()
	for _, n := range needs {
		least = min(least, n.Least())
	}
	return least
}

// finder finds infections in the stretches of equal hours of a walk.
type finder struct {
	*walk
	needs      []need
	least      int
	all        uint8
	low, high  []float64 // of a single need: see Limits
	c          *column
	day        int32
	v, inDoubt float64 // of the day
}

// stretch is walk.stretch with an eye to infections.
func (f *finder) stretch(i, j int, state wetness.State) {
	p := &f.p
	if state != wetness.Wet {
		f.walk.stretch(i, j, state)
		return
	}
	for ; i < j && (!p.Open || p.Waiting); i++ { // the first hour, and those that may not count
		f.wet(i)
		f.check()
	}
	switch {
	case i == j:
	case p.Reached == f.all: // how much longer it gets does not matter
		p.Dry, p.Sure = 0, 0
		f.doubt = f.doubt || p.Doubt
	default:
		f.run(i, j)
	}
}

// run adds wet hours to an open period.
func (f *finder) run(i, j int) {
	p := &f.p
	if f.temp == nil {
		for ; i < j; i++ {
			f.wet(i)
		}
		return // without temperatures nothing can be reached
	}
	p.Dry, p.Sure = 0, 0
	f.doubt = f.doubt || p.Doubt
	wet, known, sum := p.Wet, p.Known, p.Sum
	for ; i < j && p.Reached != f.all; i++ {
		t := f.temp[i]
		if t != t {
			p.Wet, p.Known, p.Sum = wet, known, sum
			f.wet(i)
			wet = p.Wet
			continue
		}
		wet++
		known++
		sum += t
		if wet >= f.least && f.near(wet, sum/float64(known)) {
			p.Wet, p.Known, p.Sum = wet, known, sum
			f.check()
		}
	}
	p.Wet, p.Known, p.Sum = wet, known, sum
}

// near says whether a period may have reached a class.
func (f *finder) near(wet int, mean float64) bool {
	if f.low == nil {
		return true
	}
	i := min(wet-f.least, len(f.low)-1)
	return mean >= f.low[i] && mean <= f.high[i]
}

// check looks which classes a period has reached.
func (f *finder) check() {
	p := &f.p
	if p.Wet < f.least || p.Reached == f.all || p.Known == 0 {
		return
	}
	mean := p.Mean()
	for class, n := range f.needs {
		bit := uint8(1) << class
		if p.Reached&bit != 0 || !n.Met(p.Wet, mean) {
			continue
		}
		p.Reached |= bit
		f.v++
		if p.Doubt {
			f.inDoubt++
		}
		f.c.hits = append(f.c.hits, hit{f.day, uint8(class), n.At(mean)})
	}
}

// mostInfections bounds the infections of a day with so many hours that may be
// wet: between two lie a gap and the wet hours of the second.
func (p *Period) mostInfections(least, hours, classes int) float64 {
	return float64(classes * min(1+24/(least+p.Gap), 1+hours/max(1, least)))
}

// Run computes the track.
func (r *InfectionModel) Run(in *Input) (*risk.Track, error) { return run(r, in) }

func (r *InfectionModel) key(e *env) any                   { return bedKey{r, e.bed, ""} }
func (r *InfectionModel) days() DayKind                    { return Calendar }
func (r *InfectionModel) hourly() bool                     { return true }
func (r *InfectionModel) infections() []string             { return []string{r.Event} }
func (r *InfectionModel) total(to *Runner, from int)       { sum{}.total(to, from) }
func (r *InfectionModel) most(*env) float64                { return r.mostInfections(leastOf(r.needed), 25, 1) }
func (r *InfectionModel) fill(e *env, c *column, from int) { r.infect(e, c, from, r.needed) }

// genericNeed has the lookup and the formula behind it.
type genericNeed struct {
	*disease.GenericNeed
	g disease.Generic
}

func (n genericNeed) At(mean float64) float64 { return n.g.At(mean) }

// Run computes the track.
func (r *WetPeriodTable) Run(in *Input) (*risk.Track, error) { return run(r, in) }

func (r *WetPeriodTable) key(e *env) any             { return bedKey{r, e.bed, ""} }
func (r *WetPeriodTable) days() DayKind              { return Calendar }
func (r *WetPeriodTable) hourly() bool               { return true }
func (r *WetPeriodTable) total(to *Runner, from int) { sum{}.total(to, from) }

func (r *WetPeriodTable) infections() []string {
	out := make([]string, len(r.Classes))
	for i := range r.Classes {
		out[i] = r.Classes[i].Event
	}
	return out
}

func (r *WetPeriodTable) most(*env) float64 {
	return r.mostInfections(leastOf(r.tables), 25, len(r.tables))
}

func (r *WetPeriodTable) fill(e *env, c *column, from int) { r.infect(e, c, from, r.tables) }

// Run computes the track.
func (r *InfectionSurface) Run(in *Input) (*risk.Track, error) { return run(r, in) }

func (r *InfectionSurface) key(e *env) any             { return bedKey{r, e.bed, ""} }
func (r *InfectionSurface) days() DayKind              { return Calendar }
func (r *InfectionSurface) hourly() bool               { return true }
func (r *InfectionSurface) infections() []string       { return []string{r.Event} }
func (r *InfectionSurface) total(to *Runner, from int) { sum{}.total(to, from) }

// most bounds a day: periods that end in it, each at the highest score there is.
func (r *InfectionSurface) most(*env) float64 {
	return r.top * (1 + float64(24/(max(1, int(r.Tested.HoursFrom))+r.Gap)))
}

// score returns the score of a period.
func (r *InfectionSurface) score(hours int, mean float64) float64 {
	t := &r.Tested
	if !(float64(hours) >= t.HoursFrom && mean >= t.TempFrom && mean <= t.TempTo) {
		return 0
	}
	return r.at(mean, min(float64(hours), t.HoursTo))
}

func (r *InfectionSurface) at(t, w float64) float64 {
	if r.Beta != nil {
		return r.Beta.At(t, w)
	}
	return r.Logit.At(t, w)
}

func (r *InfectionSurface) fill(e *env, c *column, from int) {
	k := r.Period.walk(e, c)
	for d := from; d < len(c.v); d++ {
		v, inDoubt := dayValue{}, 0.0
		i := k.begin(c, d)
		doubt := k.p.Doubt
		for _, part := range k.parts[k.partsOf[d]:k.partsOf[d+1]] {
			ended := k.stretch(i, int(part.end), part.state)
			if i = int(part.end); !ended || k.p.Known == 0 {
				continue
			}
			s := r.score(k.p.Wet, k.p.Mean())
			v.value += s
			if k.p.Spoilt {
				inDoubt += s
			}
			if r.Least > 0 && s >= r.Least {
				c.hits = append(c.hits, hit{day: int32(d), value: s})
			}
		}
		v.low, v.high, v.unknown = max(0, v.value-inDoubt), v.value, uint8(k.unknown)
		if doubt || k.doubt || inDoubt > 0 {
			v.high = max(v.value, r.most(nil))
		}
		c.set(d, v)
		c.periods[d+1] = k.p
	}
}
