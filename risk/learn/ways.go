package learn

import "math"

// calendar is the mean of the dates.
func (a *Arrival) calendar(in *Input) Way {
	w := Way{Name: Calendar, Error: math.NaN()}
	sc := a.days()
	others, values := valued(a.neighbours(in), sc)
	finds := 0
	for _, s := range others {
		if s.Found() {
			finds++
		}
	}
	if a.Finds+finds == 0 {
		w.Why = "no season has a find"
		return w
	}
	low, high := math.Inf(1), math.Inf(-1)
	for i := range a.seasons {
		v, _ := sc.value(&a.seasons[i])
		values = append(values, v)
	}
	for _, v := range values {
		low = min(low, v.low)
		high = max(high, v.low)
		if !math.IsInf(v.high, 1) {
			high = max(high, v.high)
		}
	}
	prior := flat
	if finds > 0 {
		a.Neighbours = len(others)
		m, sd := pool(others, values[:len(others)], in.Place, (low+high)/2, dayLevels)
		prior = func(x float64) float64 { return -(x - m) * (x - m) / (2 * sd * sd) }
	}
	a.fit(&w, newGrid(low-4*YearDays, high+4*YearDays, YearDays, prior), sc, finds > 0, nil)
	return w
}

// published is the model's threshold as it stands. Its interval is what is
// expected beforehand of places and years.
func (a *Arrival) published(in *Input) Way {
	w := Way{Name: Published, Error: math.NaN()}
	if in.Published <= 0 {
		w.Why = "no model has a threshold for this"
		return w
	}
	sc := a.totals(in)
	w.take(normal(math.Log(in.Published), math.Hypot(YearCV, PlaceCV)), sc)
	w.Median = in.Published
	for i := range a.seasons {
		if _, ok := sc.value(&a.seasons[i]); ok && a.seasons[i].Scored() {
			w.try(&a.seasons[i], sc, &w.belief)
		}
	}
	w.finish()
	return w
}

// local is the total at which the pest came, from the log alone.
func (a *Arrival) local(in *Input) Way {
	w := Way{Name: Local, Error: math.NaN()}
	centre, n := a.meanTotal(in, -1)
	switch {
	case len(in.Curves) == 0:
		w.Why = "no model counts for this threat, or there is no weather of past seasons"
		return w
	case n == 0:
		w.Why = "no season has a find together with its weather"
		return w
	}
	low, high := a.spanOfTotals(in, centre)
	a.fit(&w, newGrid(low, high, YearCV, flat), a.totals(in), false, nil)
	return w
}

// blend is the published threshold moved toward the log.
func (a *Arrival) blend(in *Input) Way {
	w := Way{Name: Blend, Error: math.NaN()}
	switch {
	case in.Published <= 0:
		w.Why = "no model has a threshold to start from"
		return w
	case len(in.Curves) == 0:
		w.Why = "there is no weather of past seasons"
		return w
	}
	p := placePrior{centre: math.Log(in.Published), sd: PlaceCV}
	if len(in.Neighbours) > 0 {
		var n int
		p, n = a.pooled(in)
		a.Neighbours = max(a.Neighbours, n)
	}
	low, high := a.spanOfTotals(in, p.centre)
	a.fit(&w, newGrid(low, high, YearCV, flat), a.totals(in), true, func(skip int) func(float64) float64 {
		return p.moved(a.meanTotal(in, skip)).log
	})
	if l, n := a.meanTotal(in, -1); n > 0 && math.Abs(l-p.centre) > 1e-9 {
		w.Weight = min(1, max(0, (math.Log(w.Median)-p.centre)/(l-p.centre)))
	}
	return w
}

// meanTotal returns the mean of the logarithms of the totals in the middle of the
// finds' brackets without season skip (-1: of all), and how many there are; NaN of
// none.
func (a *Arrival) meanTotal(in *Input, skip int) (mean float64, n int) {
	sc := a.totals(in)
	for i := range a.seasons {
		if v, ok := sc.value(&a.seasons[i]); ok && i != skip && a.seasons[i].Found() {
			mean += math.Log((math.Exp(v.low) + math.Exp(v.high)) / 2)
			n++
		}
	}
	return mean / float64(n), n
}

// spanOfTotals returns between what the mean of a place may lie, as logarithms:
// well around a centre and every find.
func (a *Arrival) spanOfTotals(in *Input, centre float64) (low, high float64) {
	low, high = centre-1.2, centre+1.0
	sc := a.totals(in)
	for i := range a.seasons {
		s := &a.seasons[i]
		v, ok := sc.value(s)
		if !ok {
			continue
		}
		if s.Found() {
			low, high = min(low, v.high-0.5), max(high, v.high+0.5)
		} else {
			high = max(high, v.low+0.5)
		}
	}
	return low, high
}
