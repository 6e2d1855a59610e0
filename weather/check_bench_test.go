package weather

import (
	"math"
	"testing"
	"time"
)

// leapYear is a year of 8784 hours with eight columns of weather that varies.
func leapYear(o Origin) *Series {
	s := NewSeries(time.Date(2024, 1, 1, 0, 0, 0, 0, time.UTC), 8784)
	h, err := s.AddOrigin(o)
	if err != nil {
		panic(err)
	}
	for i := range s.Len() {
		day, year := 2*math.Pi*float64(i)/24, 2*math.Pi*float64(i)/8784
		t := 12 - 11*math.Cos(year) - 6*math.Cos(day) + math.Sin(float64(i)*1.7)
		dew := t - 4 + 3*math.Cos(day)
		s.Set(Temp, i, t, h)
		s.Set(DewPoint, i, dew, h)
		s.Set(RH, i, RelHumidity(t, dew), h)
		s.Set(Rain, i, math.Max(0, 3*math.Sin(float64(i)*0.37)-2), h)
		s.Set(Wind, i, 3+2*math.Sin(float64(i)*0.9), h)
		s.Set(Cloud, i, 50+50*math.Sin(float64(i)*0.11), h)
		s.Set(Solar, i, math.Max(0, -700*math.Cos(day)), h)
		s.Set(Soil, i, 10-8*math.Cos(year)+math.Sin(day), h)
	}
	return s
}

func BenchmarkCheckYear(b *testing.B) {
	s, l := leapYear(ownStation), DefaultLimits()
	if _, rejects := Check(s, l); len(rejects) > 0 {
		b.Fatalf("%d rejects", len(rejects))
	}
	b.ReportAllocs()
	for b.Loop() {
		Check(s, l)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/8784, "ns/hour")
}

func BenchmarkDoubtsYear(b *testing.B) {
	s, ref := leapYear(ownStation), leapYear(grid)
	b.ReportAllocs()
	for b.Loop() {
		if d := Doubts(s, ref, 41, -7.5); len(d) > 0 {
			b.Fatal(d)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/8784, "ns/hour")
}
