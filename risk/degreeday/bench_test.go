package degreeday

import (
	"math"
	"testing"

	"plotwarden/civil"
	"plotwarden/weather"
)

// season is 366 days of a temperate year: 3 in 5 of them cross the thresholds
// of 10 and 30 C.
func season() []weather.Day {
	days := make([]weather.Day, 366)
	for i := range days {
		mean := 11 - 13*math.Cos(2*math.Pi*float64(i)/366) + 3*math.Sin(float64(i)*1.7)
		span := 6 + 3*math.Sin(float64(i)*0.9)
		days[i] = weather.Day{Date: civil.New(2024, 1, 1).AddDays(i), Min: mean - span, Max: mean + span, Hours: 24}
	}
	return days
}

func BenchmarkDays366(b *testing.B) {
	days := season()
	out := make([]float64, len(days))
	for _, m := range methods[:len(methods)-1] {
		for _, c := range cutoffs {
			if m.average() && c != None {
				continue
			}
			b.Run(string(m)+"/"+string(c), func(b *testing.B) {
				r := Rule{m, c, 10, 30}
				b.ReportAllocs()
				for b.Loop() {
					if err := r.Days(days, out); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "site-seasons/s")
			})
		}
	}
}

func BenchmarkHourly8784(b *testing.B) {
	temps := make([]float64, 8784)
	for i := range temps {
		temps[i] = 11 - 13*math.Cos(2*math.Pi*float64(i)/8784) - 6*math.Cos(2*math.Pi*float64(i)/24)
	}
	ws := make([]weather.Window, 366)
	for i := range ws {
		ws[i] = weather.Window{From: 24 * i, To: 24*i + 24}
	}
	out := make([]float64, len(ws))
	r := Rule{Hourly, Horizontal, 10, 30}
	b.ReportAllocs()
	for b.Loop() {
		if err := r.Windows(temps, ws, out); err != nil {
			b.Fatal(err)
		}
	}
}
