package sqlite

import (
	"fmt"
	"math"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"plotwarden/store/pack"
	"plotwarden/weather"
)

// forecast is shaped as a service's answer: two days back, sixteen ahead, eight
// columns with one decimal or none.
func forecast(site int, fetched time.Time) *weather.Series {
	start := fetched.Truncate(24 * time.Hour).Add(-48 * time.Hour)
	s := weather.NewSeries(start, 18*24)
	past, err := s.AddOrigin(weather.Origin{Source: "open-meteo", Kind: weather.Analysis, Fetched: fetched})
	if err != nil {
		panic(err)
	}
	ahead, err := s.AddOrigin(weather.Origin{Source: "open-meteo", Kind: weather.Forecast, Fetched: fetched})
	if err != nil {
		panic(err)
	}
	noise := uint32(site*2654435761 + int(fetched.Unix()))
	for i := range s.Len() {
		h := ahead
		if s.Time(i).Before(fetched) {
			h = past
		}
		noise = noise*1664525 + 1013904223
		n := float64(noise>>16) / 65536
		day := math.Sin(float64(i-8) / 24 * 2 * math.Pi)
		tenth := func(x float64) float64 { return math.Round(x*10) / 10 }
		s.Set(weather.Temp, i, tenth(18+6*day+2*n), h)
		s.Set(weather.RH, i, math.Round(75-20*day+8*n), h)
		s.Set(weather.DewPoint, i, tenth(12+3*n), h)
		s.Set(weather.Rain, i, tenth(math.Max(0, n-0.8)*5), h)
		s.Set(weather.RainChance, i, math.Round(30*n), h)
		s.Set(weather.Wind, i, tenth(2+2*n), h)
		s.Set(weather.Cloud, i, math.Round(100*n), h)
		s.Set(weather.Solar, i, math.Round(math.Max(0, 700*day)*(0.5+n/2)), h)
	}
	return s
}

// BenchmarkSaveWeather refreshes the sites of a service again and again, an
// hour apart, and prints what one refresh costs and what a site takes on disk.
func BenchmarkSaveWeather(b *testing.B) {
	for _, sites := range []int{100, 1000} {
		b.Run(fmt.Sprint(sites, " sites"), func(b *testing.B) {
			s := open(b)
			n := 0
			for b.Loop() {
				require.NoError(b, s.SaveWeather(b.Context(), fmt.Sprint(n%sites), forecast(n%sites, t0.Add(time.Duration(n/sites)*time.Hour))))
				n++
			}
			require.NoError(b, s.write.QueryRow("PRAGMA wal_checkpoint(TRUNCATE)").Err())
			info, err := os.Stat(s.Path())
			require.NoError(b, err)
			b.ReportMetric(float64(info.Size())/float64(min(n, sites)), "diskB/site")
		})
	}
}

// BenchmarkPack prints the size of one forecast against the plain 8 bytes a
// value.
func BenchmarkPack(b *testing.B) {
	s := forecast(1, t0)
	var blob []byte
	for b.Loop() {
		blob = pack.Series(s)
	}
	plain := s.Len() * 8 * 8
	b.ReportMetric(float64(len(blob)), "B/forecast")
	b.ReportMetric(float64(plain)/float64(len(blob)), "ratio")
}

// BenchmarkLoadSeason reads half a year of hours of one site.
func BenchmarkLoadSeason(b *testing.B) {
	s := open(b)
	for d := range 180 {
		require.NoError(b, s.SaveWeather(b.Context(), "a", forecast(1, t0.Add(time.Duration(d)*24*time.Hour))))
	}
	for b.Loop() {
		got, err := s.LoadWeather(b.Context(), "a", t0, t0.Add(180*24*time.Hour))
		require.NoError(b, err)
		require.Equal(b, 180*24, got.Len())
	}
}
