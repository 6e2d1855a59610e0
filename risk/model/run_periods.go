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
}

// walk goes through the hours of wet periods.
type walk struct {
	rule   *Period
	states []wetness.State
	temp   []float64
	rh     []float64 // nil when every dry hour counts to the gap
	damp   bool      // the rule has a gap humidity
	clock  []uint8   // nil when nights count
}

func (p *Period) walk(e *env) walk {
	k := walk{rule: p, states: e.sn.statesOf(p.Hours.key(e.bed)), temp: e.sn.w.Column(weather.Temp), damp: p.GapHumidity > 0}
	if k.damp {
		k.rh = e.sn.w.Column(weather.RH)
	}
	if p.Night != nil {
		k.clock = e.sn.clock(LocalClock)
	}
	return k
}

func (k *walk) leaf(i int) disease.Leaf {
	switch k.states[i] {
	case wetness.Wet:
		return disease.LeafWet
	case wetness.Unknown:
		return disease.LeafUnknown
	}
	if !k.damp {
		return disease.LeafDry
	}
	if k.rh == nil || k.rh[i] != k.rh[i] {
		return disease.LeafDryOrDamp
	}
	if k.rh[i] < k.rule.GapHumidity {
		return disease.LeafDry
	}
	return disease.LeafDamp
}

func (k *walk) night(i int) bool {
	return k.clock != nil && (int(k.clock[i]) >= k.rule.Night.From || int(k.clock[i]) < k.rule.Night.To)
}

// days walks the days of a column from index from on and calls hour after each
// hour of a period, with whether the period ended with it, and day after each
// day, with its hours of unknown state and whether a period was in doubt in an
// hour of it that may have been wet.
func (k *walk) days(e *env, c *column, from int, hour func(p *disease.Period, i int, ended bool), day func(d, unknown int, doubt bool)) {
	ws := e.sn.window(Calendar)
	c.periods = grow(c.periods, len(ws)+1)
	for d := from; d < len(ws); d++ {
		if d == 0 {
			c.periods[0] = disease.Period{}
		}
		p := c.periods[d]
		a, z, unknown := inside(ws[d], e.sn.w.Len())
		doubt := unknown > 0
		if doubt {
			p.Doubt = true
		}
		for i := a; i < z; i++ {
			leaf := k.leaf(i)
			if leaf == disease.LeafDry && !p.Open && !p.Doubt {
				continue
			}
			t := 0.0
			if leaf == disease.LeafWet {
				if k.temp == nil {
					t = nan
				} else {
					t = k.temp[i]
				}
			}
			ended := p.Hour(leaf, t, k.rule.Gap, k.night(i))
			switch leaf {
			case disease.LeafUnknown:
				unknown++
				doubt = true
			case disease.LeafWet:
				doubt = doubt || p.Doubt
				if t != t {
					unknown++
				}
			}
			if leaf == disease.LeafWet || ended {
				hour(&p, i, ended)
			}
		}
		c.periods[d+1] = p
		day(d, unknown, doubt)
	}
}

// infect finds the infections of wet periods by class.
func (p *Period) infect(e *env, c *column, from int, needs []need) {
	k := p.walk(e)
	all := uint8(1<<len(needs) - 1)
	least := needs[0].Least()
	for _, n := range needs {
		least = min(least, n.Least())
	}
	reached, inDoubt, today := 0.0, 0.0, len(c.hits)
	hour := func(w *disease.Period, i int, ended bool) {
		if ended || w.Wet < least || w.Reached == all || w.Known == 0 {
			return
		}
		mean := w.Mean()
		for class, n := range needs {
			if bit := uint8(1) << class; w.Reached&bit == 0 && n.Met(w.Wet, mean) {
				w.Reached |= bit
				reached++
				if w.Doubt {
					inDoubt++
				}
				c.hits = append(c.hits, hit{class: uint8(class), value: n.At(mean)})
			}
		}
	}
	most := p.mostInfections(least, len(needs))
	k.days(e, c, from, hour, func(d, unknown int, doubt bool) {
		v := dayValue{value: reached, low: reached - inDoubt, high: reached, unknown: uint8(unknown)}
		if doubt {
			v.high = max(reached, most)
		}
		c.vals[d] = v
		for ; today < len(c.hits); today++ {
			c.hits[today].day = int32(d)
		}
		reached, inDoubt = 0, 0
	})
}

// mostInfections bounds the infections of one day: between two lie a gap and the
// hours of the second.
func (p *Period) mostInfections(least, classes int) float64 {
	return float64(classes * (1 + 24/(least+p.Gap)))
}

// Run computes the track.
func (r *InfectionModel) Run(in *Input) (*risk.Track, error) { return run(r, in) }

func (r *InfectionModel) key(e *env) any             { return bedKey{r, e.bed, ""} }
func (r *InfectionModel) days() DayKind              { return Calendar }
func (r *InfectionModel) hourly() bool               { return true }
func (r *InfectionModel) infections() []string       { return []string{r.Event} }
func (r *InfectionModel) total(to *Runner, from int) { sum{}.total(to, from) }
func (r *InfectionModel) most(*env) float64          { return r.mostInfections(r.need.Least(), 1) }

func (r *InfectionModel) fill(e *env, c *column, from int) {
	r.infect(e, c, from, []need{genericNeed{r.need, r.numbers()}})
}

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

func (r *WetPeriodTable) needs() []need {
	out := make([]need, len(r.tables))
	for i := range r.tables {
		out[i] = &r.tables[i]
	}
	return out
}

func (r *WetPeriodTable) most(*env) float64 {
	least := r.tables[0].Least()
	for i := range r.tables {
		least = min(least, r.tables[i].Least())
	}
	return r.mostInfections(least, len(r.tables))
}

func (r *WetPeriodTable) fill(e *env, c *column, from int) { r.infect(e, c, from, r.needs()) }

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
	k := r.Period.walk(e)
	value, inDoubt, today := 0.0, 0.0, len(c.hits)
	doubted := false
	hour := func(p *disease.Period, i int, ended bool) {
		if !ended || p.Known == 0 {
			return
		}
		s := r.score(p.Wet, p.Mean())
		value += s
		if p.Spoilt {
			inDoubt += s
			doubted = true
		}
		if r.Least > 0 && s >= r.Least {
			c.hits = append(c.hits, hit{value: s})
		}
	}
	k.days(e, c, from, hour, func(d, unknown int, doubt bool) {
		v := dayValue{value: value, low: value - inDoubt, high: value, unknown: uint8(unknown)}
		if doubt || doubted || c.periods[d].Doubt || c.periods[d+1].Doubt {
			v.high = max(value, r.most(nil))
		}
		c.vals[d] = v
		for ; today < len(c.hits); today++ {
			c.hits[today].day = int32(d)
		}
		value, inDoubt, doubted = 0, 0, false
	})
}
