package learn

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"plotwarden/civil"
)

// Input is a log with what it is compared with.
type Input struct {
	Threat  string
	Model   string // id; empty for a threat without a model
	Unit    string // of totals
	Seasons []Season
	// Neighbours are seasons of other plots, of this ground or region, whose
	// growers share them. They move what is expected beforehand. NeighbourCurves
	// are totals of the weather of their grounds, by the ground's name; a ground
	// that is not among them has this place's weather if it is this ground, else
	// its seasons count for their dates alone.
	Neighbours      []Season
	NeighbourCurves map[string]map[int]Curve
	Place           Place // of the plot that is learnt for
	// Curves are the model's running totals by the year of the season, of this
	// place's weather. Empty for a threat without a model, or without past weather.
	Curves map[int]Curve
	// Published is the model's threshold for the event; 0 when it has none.
	Published float64
	// SeasonStart is the day of the year from which the calendar counts; zero is
	// 1 January.
	SeasonStart civil.MonthDay
}

// FewSeasons is the number of seasons below which a threshold without a published
// one stands back behind the calendar, and ChooseFrom the number from which on
// ways are chosen by their errors: on simulated logs of three or four seasons
// the choice made predictions worse.
const (
	FewSeasons = 3
	ChooseFrom = 5
)

// Learn makes an estimate of a threat's arrival. It fails when a season is
// impossible or when there is nothing at all to go by.
func Learn(in Input) (*Arrival, error) {
	if in.SeasonStart.IsZero() {
		in.SeasonStart = civil.MonthDay{Month: 1, Day: 1}
	}
	a := &Arrival{Threat: in.Threat, Model: in.Model, Unit: in.Unit, start: in.SeasonStart}
	for i := range in.Seasons {
		s := &in.Seasons[i]
		if err := s.Check(); err != nil {
			return nil, fmt.Errorf("learn the arrival of %s: %w", in.Threat, err)
		}
		switch {
		case s.Found():
			a.Finds++
		case s.Censored():
			a.Censored++
		default:
			continue
		}
		a.seasons = append(a.seasons, *s)
	}
	slices.SortStableFunc(a.seasons, func(x, y Season) int { return x.Year - y.Year })
	a.Ways = []Way{a.calendar(&in), a.published(&in), a.local(&in), a.blend(&in)}
	a.choose()
	if a.Chosen == "" {
		return nil, fmt.Errorf("learn the arrival of %s: the log has no find and no model has a threshold", in.Threat)
	}
	return a, nil
}

// scale is how seasons become values: days since the season's start, or the
// logarithm of totals, since what is known of thresholds are shares of them.
type scale struct {
	value func(s *Season) (interval, bool)
	date  func(year int, value float64) (civil.Date, bool) // the day on which a value is reached in a season
	day   func(year int) civil.Date                        // first day of a season
	shown func(value float64) float64
}

func (a *Arrival) days() scale {
	day := func(year int) civil.Date { return a.start.In(year) }
	return scale{
		value: func(s *Season) (interval, bool) {
			v := interval{float64(s.lower().Sub(day(s.Year))), math.Inf(1)}
			if s.Found() {
				v.high = float64(s.First.Sub(day(s.Year)))
			}
			return v, true
		},
		date: func(year int, value float64) (civil.Date, bool) {
			return day(year).AddDays(int(math.Round(value))), true
		},
		day:   day,
		shown: func(value float64) float64 { return value },
	}
}

// leastShare is the shortest that a bracket is taken to be, as a share of the
// total: a find after a cold day is no exact measure of it.
const leastShare = 0.02

func (a *Arrival) totals(in *Input) scale { return totals(in.Curves) }

// neighbourScale takes each season's totals from the weather of its ground.
func (in *Input) neighbourScale() scale {
	return scale{value: func(s *Season) (interval, bool) {
		curves, ok := in.NeighbourCurves[s.Place.Ground]
		if !ok && s.Place.Ground == in.Place.Ground {
			curves = in.Curves
		}
		return totals(curves).value(s)
	}}
}

func totals(curves map[int]Curve) scale {
	return scale{
		value: func(s *Season) (interval, bool) {
			c, ok := curves[s.Year]
			if !ok || len(c.Totals) == 0 {
				return interval{}, false
			}
			v, last := interval{c.At(s.lower()), math.Inf(1)}, s.lower()
			if s.Found() {
				v.high, last = c.At(s.First), s.First
			}
			// A find before any heat was counted is no total.
			if math.IsNaN(v.low) || math.IsNaN(v.high) || v.high <= 0 || c.unknownTo(last) > MaxUnknown {
				return interval{}, false
			}
			v.low, v.high = math.Log(v.low), math.Log(v.high)
			if gap := leastShare - (v.high - v.low); gap > 0 {
				v.low, v.high = v.low-gap/2, v.high+gap/2
			}
			return v, true
		},
		date: func(year int, value float64) (civil.Date, bool) {
			c := curves[year]
			return c.Date(math.Exp(value))
		},
		day:   func(year int) civil.Date { return curves[year].Start },
		shown: math.Exp,
	}
}

// fit makes a way from a grid: the belief after all seasons, and each season
// predicted by the belief after the others. alone says whether the belief after
// no season at all says anything. prior, when set, is a further prior of the mean
// by the seasons that are looked at, all but skip (-1: all).
func (a *Arrival) fit(w *Way, g *grid, sc scale, alone bool, prior func(skip int) func(mean float64) float64) {
	sum := make([]float64, len(g.prior))
	parts := make([][]float64, len(a.seasons))
	n := 0
	for i := range a.seasons {
		if v, ok := sc.value(&a.seasons[i]); ok {
			parts[i] = g.likelihood(v)
			floats.Add(sum, parts[i])
			n++
		}
	}
	with := func(sum []float64, skip int) belief {
		if prior == nil {
			return g.after(sum)
		}
		all, log := make([]float64, len(sum)), prior(skip)
		for i := range all {
			all[i] = sum[i] + log(g.mean[i])
		}
		return g.after(all)
	}
	w.take(with(sum, -1), sc)
	rest := make([]float64, len(sum))
	for i := range a.seasons {
		s := &a.seasons[i]
		if parts[i] == nil || !s.Scored() || !alone && !a.otherFind(i, sc) {
			continue
		}
		floats.SubTo(rest, sum, parts[i])
		b := with(rest, i)
		w.try(s, sc, &b)
	}
	w.finish()
}

// otherFind says whether a season other than i has a find with a value.
func (a *Arrival) otherFind(i int, sc scale) bool {
	for j := range a.seasons {
		if _, ok := sc.value(&a.seasons[j]); ok && j != i && a.seasons[j].Found() {
			return true
		}
	}
	return false
}

func (w *Way) try(s *Season, sc scale, b *belief) {
	none := math.Inf(-1)
	at, _ := sc.date(s.Year, b.quantile(0.5, none))
	low, _ := sc.date(s.Year, b.quantile(0.1, none))
	high, _ := sc.date(s.Year, b.quantile(0.9, none))
	day := sc.day(s.Year)
	middle := s.Middle(day)
	w.Tries = append(w.Tries, Try{
		Year: s.Year, Predicted: at, Off: float64(at.Sub(day)) - middle,
		Inside: float64(low.Sub(day)) <= middle && middle <= float64(high.Sub(day)),
	})
}

// take makes a belief the way's own.
func (w *Way) take(b belief, sc scale) {
	none := math.Inf(-1)
	w.belief = b
	w.Median, w.Low, w.High = sc.shown(b.quantile(0.5, none)), sc.shown(b.quantile(0.1, none)), sc.shown(b.quantile(0.9, none))
}

// finish sums up the tries.
func (w *Way) finish() {
	w.Error = math.NaN()
	sum := 0.0
	for _, t := range w.Tries {
		sum += math.Abs(t.Off)
	}
	if len(w.Tries) > 0 {
		w.Error = sum / float64(len(w.Tries))
	}
	w.Usable = true
}
