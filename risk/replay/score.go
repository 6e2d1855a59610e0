package replay

import (
	"math"

	"plotwarden/civil"
	"plotwarden/risk"
)

// Leads are the days before an event at which the median and the interval are
// judged.
var Leads = [3]int{28, 14, 7}

// Score sums up replays.
type Score struct {
	Seasons                   int
	Events                    int // that came on a day of issue
	Hits, Misses, FalseAlarms int
	LeadDays                  []int // of each hit, from the warning's first day to the event
	At                        [len(Leads)]Lead
	Horizons                  [len(risk.Horizons)]Chances
	Sprays, Fixed             int // named by the rule, and by the fixed calendar over the same days
}

// Lead is how the outlooks so many days before an event did.
type Lead struct {
	Days    int
	N       int     // events that had an outlook on that day
	Dated   int     // of which had a median
	Error   float64 // mean absolute error of the median, days; NaN without any
	Bias    float64 // mean of median less event, days: above 0 is late
	Covered int     // events from the 10 to the 90 % date
	// Stated is the share that the outlooks said lay there: 0.8 and, days being
	// whole, somewhat more.
	Stated float64
}

// Coverage returns the share of events within the interval.
func (l *Lead) Coverage() float64 { return float64(l.Covered) / float64(l.N) }

// Chances is how the stated chances of one horizon did.
type Chances struct {
	Days  int
	N     int
	Brier float64 // mean of (chance - came)^2
	// Base is the share of outlooks after which it came, and Always the Brier score
	// of stating just that each time: what there is to beat.
	Base, Always float64
	Bins         [10]Bin
}

// Bin is the outlooks whose chance lay in one tenth.
type Bin struct {
	N          int
	Mean, Came float64 // mean of the stated chances, share that came; NaN when N is 0
}

// ScoreOf sums up.
func ScoreOf(p Policy, results ...*Result) Score {
	s := Score{Seasons: len(results)}
	for i, l := range Leads {
		s.At[i].Days = l
	}
	for i, h := range risk.Horizons {
		s.Horizons[i].Days = h
	}
	for _, r := range results {
		q := p.filled(r.Case)
		for _, d := range r.Came {
			if d >= r.Case.From && d <= r.Case.To {
				s.Events++
			}
		}
		s.warnings(r, q)
		if !r.Case.Infection {
			s.leads(r)
		}
		s.chances(r)
		s.Sprays += len(r.Sprays)
		from, to := r.Case.crop()
		s.Fixed += FixedSprays(from, to, q.SprayDays)
	}
	s.means()
	return s
}

// warnings matches warnings with events. A warning begins on a warned day after
// one that was not; it is a hit when an event comes on one of its days or within
// the policy's days of its first, and a false alarm when none does and that much
// is known of the days after it.
func (s *Score) warnings(r *Result, p Policy) {
	met := make([]bool, len(r.Came))
	for i := 0; i < len(r.Issues); i++ {
		if !r.Issues[i].Warned {
			continue
		}
		first := r.Issues[i].Day
		last := first
		for i < len(r.Issues) && r.Issues[i].Warned {
			last = r.Issues[i].Day
			i++
		}
		until, hit := max(last, first.AddDays(p.Within)), false
		for k, d := range r.Came {
			if d < first || d > until {
				continue
			}
			if !met[k] && d <= r.Case.To {
				met[k] = true
				s.Hits++
				s.LeadDays = append(s.LeadDays, d.Sub(first))
			}
			hit = true
		}
		if !hit && until <= r.Until {
			s.FalseAlarms++
		}
	}
	for k, d := range r.Came {
		if !met[k] && d >= r.Case.From && d <= r.Case.To {
			s.Misses++
		}
	}
}

func (s *Score) leads(r *Result) {
	if len(r.Came) == 0 {
		return
	}
	for i := range s.At {
		l := &s.At[i]
		k := r.Came[0].AddDays(-l.Days).Sub(r.Case.From)
		if k < 0 || k >= len(r.Issues) {
			continue
		}
		l.add(&r.Issues[k].Outlook, r.Came[0])
	}
}

// add counts one outlook against what came.
func (l *Lead) add(o *risk.Outlook, came civil.Date) {
	l.N++
	l.Stated += o.Inside
	if !o.P10.IsZero() && o.P10 <= came && (o.P90.IsZero() || came <= o.P90) {
		l.Covered++
	}
	if !o.P50.IsZero() {
		off := float64(o.P50.Sub(came))
		l.Dated++
		l.Error += math.Abs(off)
		l.Bias += off
	}
}

func (s *Score) chances(r *Result) {
	for i := range s.Horizons {
		c := &s.Horizons[i]
		for _, issue := range r.Issues {
			by := issue.Day.AddDays(c.Days)
			came := 0.0
			for _, d := range r.Came {
				if d >= issue.Day && d <= by {
					came = 1
				}
			}
			if came == 0 && by > r.Until || !issue.Outlook.Reached.IsZero() {
				continue // not known yet, or no longer a question
			}
			p := issue.Outlook.Chance[i]
			c.N++
			c.Brier += (p - came) * (p - came)
			c.Base += came
			b := &c.Bins[min(9, int(p*10))]
			b.N++
			b.Mean += p
			b.Came += came
		}
	}
}

// means turns sums into means.
func (s *Score) means() {
	for i := range s.At {
		l := &s.At[i]
		l.Error, l.Bias = l.Error/float64(l.Dated), l.Bias/float64(l.Dated)
		l.Stated /= float64(l.N)
	}
	for i := range s.Horizons {
		c := &s.Horizons[i]
		n := float64(c.N)
		c.Brier, c.Base = c.Brier/n, c.Base/n
		c.Always = c.Base * (1 - c.Base)
		for k := range c.Bins {
			b := &c.Bins[k]
			b.Mean, b.Came = b.Mean/float64(b.N), b.Came/float64(b.N)
		}
	}
}
