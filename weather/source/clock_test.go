package source

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"plotwarden/weather"
)

// sunny is radiation that follows the sun, moved by some hours.
func sunny(days, by int, lat, lon float64) *weather.Series {
	s := weather.NewSeries(noon, 24*days)
	o, _ := s.AddOrigin(weather.Origin{Source: "x", Kind: weather.Forecast})
	for i := range s.Len() {
		mid := s.Time(i - by).Add(30 * time.Minute)
		s.Set(weather.Solar, i, math.Max(0, 800*math.Sin(weather.SunElevation(mid, lat, lon)*math.Pi/180)), o)
	}
	return s
}

func TestCheckClock(t *testing.T) {
	const lat, lon = 40, -80
	for by := -3; by <= 3; by++ {
		err := CheckClock("x", sunny(21, by, lat, lon), lat, lon)
		if by == 0 {
			assert.NoError(t, err)
		} else {
			assert.Equal(t, Shifted, CauseOf(err), "moved by %d", by)
		}
	}
	assert.NoError(t, CheckClock("x", sunny(7, 3, lat, lon), lat, lon), "a week proves nothing")
	assert.NoError(t, CheckClock("x", weather.NewSeries(noon, 24*30), lat, lon))
}

func BenchmarkCheckClock(b *testing.B) {
	s := sunny(23, 0, 40, -80)
	for b.Loop() {
		if err := CheckClock("x", s, 40, -80); err != nil {
			b.Fatal(err)
		}
	}
}
