package model_test

import (
	"math"
	"testing"
	"time"

	"plotwarden/civil"
	"plotwarden/risk/catalog"
	"plotwarden/risk/model"
	"plotwarden/weather"
)

// catalogueSpecs returns the rules of the whole catalogue.
func catalogueSpecs(tb testing.TB) []model.Spec {
	c, err := catalog.Load()
	if err != nil {
		tb.Fatal(err)
	}
	var out []model.Spec
	for i := range c.Threats {
		for j := range c.Threats[i].Models {
			out = append(out, c.Threats[i].Models[j].Spec)
		}
	}
	return out
}

const (
	seasonHours   = 8784 // a leap year
	forecastHours = 16 * 24
)

// leapYear is 2024 as hours with a year's course, a day's and passing fronts; the
// last 16 days of it are forecast.
func leapYear(tb testing.TB) *weather.Series {
	s := weather.NewSeries(civil.New(2024, 1, 1).Start(time.UTC), seasonHours)
	past, err := s.AddOrigin(weather.Origin{Source: "a", Kind: weather.Analysis})
	if err != nil {
		tb.Fatal(err)
	}
	ahead, err := s.AddOrigin(weather.Origin{Source: "a", Kind: weather.Forecast})
	if err != nil {
		tb.Fatal(err)
	}
	seed := uint64(88172645463325252)
	next := func() float64 {
		seed ^= seed << 13
		seed ^= seed >> 7
		seed ^= seed << 17
		return float64(seed>>11) / (1 << 53)
	}
	front := 0.0
	for i := range seasonHours {
		o := past
		if i >= seasonHours-forecastHours {
			o = ahead
		}
		if i%24 == 0 {
			front = 0.7*front + 6*(next()-0.5)
		}
		hour, year := 2*math.Pi*float64(i%24-9)/24, 2*math.Pi*(float64(i)/seasonHours-0.3)
		temp := 11 + 12*math.Sin(year) + 5*math.Sin(hour) + front + next()
		rh := min(100, 78-18*math.Sin(hour)+3*front+6*next())
		rain := 0.0
		if front > 2 && next() < 0.2 {
			rain = 3 * next()
		}
		for v, x := range map[weather.Var]float64{
			weather.Temp: temp, weather.RH: rh, weather.DewPoint: weather.DewPointFromRH(temp, rh),
			weather.Wind: 1 + 4*next(), weather.Soil: 11 + 10*math.Sin(year), weather.Rain: rain,
		} {
			s.Set(v, i, x, o)
		}
	}
	return s
}

func leapYearInput(tb testing.TB) *model.Input {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		tb.Fatal(err)
	}
	w := leapYear(tb)
	return &model.Input{Weather: w, Zone: zone, Start: civil.New(2024, 1, 1), Now: w.Time(seasonHours - forecastHours)}
}

// BenchmarkCatalogue runs the whole catalogue over one site-season of 8,784
// hours, from the hours up. Nothing is kept between runs but memory, as when a
// round goes from one site to the next.
func BenchmarkCatalogue(b *testing.B) {
	specs, in := catalogueSpecs(b), leapYearInput(b)
	b.ReportAllocs()
	for b.Loop() {
		model.RunAll(specs, in)
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "site-seasons/s")
	b.ReportMetric(float64(len(specs)), "rules")
	// The shortest run is what the machine can do when nothing else runs on it.
	b.ReportMetric(1/shortest(func() { model.RunAll(specs, in) }), "site-seasons/s-best")
}

// BenchmarkRefresh compares bringing all tracks up to date after some new hours
// with computing them again.
func BenchmarkRefresh(b *testing.B) {
	for _, c := range []struct {
		name  string
		hours int
	}{{"1-hour", 1}, {"24-hours", 24}, {"16-day-forecast", forecastHours}} {
		b.Run(c.name, func(b *testing.B) {
			specs, in := catalogueSpecs(b), leapYearInput(b)
			sn := model.NewSeason(in.Weather, in.Zone, in.Now)
			var runners []*model.Runner
			for _, s := range specs {
				r, err := sn.NewRunner(s, in)
				if err != nil {
					b.Fatal(err)
				}
				runners = append(runners, r)
			}
			refresh := func() {
				if err := sn.Update(in.Weather, in.Now, seasonHours-c.hours); err != nil {
					b.Fatal(err)
				}
				for _, r := range runners {
					if _, err := r.Refresh(in); err != nil {
						b.Fatal(err)
					}
				}
			}
			b.ReportAllocs()
			for b.Loop() {
				refresh()
			}
			b.ReportMetric(shortest(func() { model.RunAll(specs, in) })/shortest(refresh), "times-cheaper")
		})
	}
}

// shortest is the shortest of many runs, in seconds.
func shortest(f func()) float64 {
	best := math.Inf(1)
	for end := time.Now().Add(time.Second); time.Now().Before(end); {
		began := time.Now()
		f()
		best = min(best, time.Since(began).Seconds())
	}
	return best
}
