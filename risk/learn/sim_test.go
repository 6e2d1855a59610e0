package learn

import (
	"math"
	"math/rand/v2"

	"plotwarden/civil"
)

// simulated is a made-up place whose truth is known.
type simulated struct {
	published float64
	truth     float64 // the place's own threshold
	curves    map[int]Curve
	arrivals  map[int]civil.Date
	seasons   []Season
}

// simulate makes a place and its log: n seasons of looks every so many days, and
// as many seasons more that are not logged and can be predicted. ratio is the
// place's threshold as a multiple of the published one, cv its spread from year
// to year. Temperatures are a sine over the year with red noise, as at 43 N.
func simulate(r *rand.Rand, n, more, every int, ratio, cv float64) *simulated {
	s := &simulated{published: 400, truth: 400 * ratio, curves: map[int]Curve{}, arrivals: map[int]civil.Date{}}
	for y := 2000; y < 2000+n+more; y++ {
		c := Curve{Start: civil.New(y, 1, 1)}
		year, noise, total := 1.2*r.NormFloat64(), 0.0, 0.0
		for d := range 365 {
			noise = 0.7*noise + 3.2*r.NormFloat64()
			mean := 9 - 13*math.Cos(2*math.Pi*float64(d-20)/365) + year + noise
			total += max(0, mean*1.8+32-50)
			c.Totals = append(c.Totals, total)
		}
		s.curves[y] = c
		at, ok := c.Date(s.truth * math.Max(0.1, 1+cv*r.NormFloat64()))
		if !ok {
			at = civil.New(y, 12, 31)
		}
		s.arrivals[y] = at
		if y < 2000+n {
			first := at.AddDays(r.IntN(every))
			s.seasons = append(s.seasons, Season{Year: y, First: first, None: first.AddDays(-every)})
		}
	}
	return s
}

func (s *simulated) input() Input {
	return Input{Threat: "made-up", Model: "made-up/1", Unit: "degree-days F", Seasons: s.seasons, Curves: s.curves, Published: s.published}
}

// misses returns the mean absolute error in days of each way over the seasons
// that are not logged.
func (s *simulated) misses(a *Arrival) map[Name]float64 {
	out := map[Name]float64{}
	for _, n := range append(Names(), "chosen") {
		w := a.Way(n)
		if n == "chosen" {
			w = a.Best()
		}
		sum, count := 0.0, 0
		for y := 2000 + len(s.seasons); ; y++ {
			at, ok := s.arrivals[y]
			if !ok {
				break
			}
			var got civil.Date
			if w.Name == Calendar {
				got = civil.New(y, 1, 1).AddDays(int(math.Round(w.Median)))
			} else {
				c := s.curves[y]
				got, _ = c.Date(w.Median)
			}
			sum += math.Abs(float64(got.Sub(at)))
			count++
		}
		out[n] = sum / float64(count)
	}
	return out
}

// simulateDays makes a place at which the pest comes so many days after the
// published total is reached, give or take a standard deviation from year to
// year: a truth that no threshold has by itself.
func simulateDays(r *rand.Rand, n, more int, bias, sd float64) *simulated {
	s := simulate(r, n, more, 7, 1, 0)
	for y := range s.curves {
		c := s.curves[y]
		at, _ := c.Date(s.published)
		s.arrivals[y] = min(max(c.Start.AddDays(20), at.AddDays(int(math.Round(bias+sd*r.NormFloat64())))), c.Start.AddDays(360))
	}
	for i := range s.seasons {
		first := s.arrivals[s.seasons[i].Year].AddDays(r.IntN(7))
		s.seasons[i].First, s.seasons[i].None = first, first.AddDays(-7)
	}
	return s
}
