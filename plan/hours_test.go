package plan

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

func day24(t *testing.T) (*weather.Series, []wetness.State, uint8) {
	t.Helper()
	s := weather.NewSeries(today.Start(time.UTC), 24)
	o, err := s.AddOrigin(weather.Origin{Source: "x", Kind: weather.Forecast})
	require.NoError(t, err)
	wet := make([]wetness.State, 24)
	for i := range 24 {
		s.Set(weather.Temp, i, 20, o)
		s.Set(weather.Rain, i, 0, o)
		s.Set(weather.Wind, i, 2, o)
		wet[i] = wetness.Dry
	}
	return s, wet, o
}

func lit(t time.Time) bool { return t.Hour() >= 6 && t.Hour() <= 20 }

func goodHours(hs []Hours) []int {
	var out []int
	for _, h := range hs {
		for t := h.From; h.Good && t.Before(h.To); t = t.Add(time.Hour) {
			out = append(out, t.Hour())
		}
	}
	return out
}

func TestWorkHoursNameWhatStandsAgainst(t *testing.T) {
	s, wet, o := day24(t)
	for i := range 9 {
		wet[i] = wetness.Wet
	}
	s.Set(weather.Wind, 12, 6, o)
	s.Set(weather.Temp, 13, 31, o)
	s.Set(weather.Rain, 21, 1, o)
	hs := WorkHours(s, wet, s.Start(), s.End(), lit, DefaultHourLimits())
	assert.Equal(t, []int{9, 10, 11, 14, 15}, goodHours(hs))
	why := map[int][]string{}
	for _, h := range hs {
		why[h.From.Hour()] = h.Why
	}
	assert.Equal(t, []string{"wind"}, why[12])
	assert.Equal(t, []string{"too hot"}, why[13])
	assert.Equal(t, []string{"rain within 6 hours"}, why[16])
	assert.Equal(t, []string{"wet leaves"}, why[6])
}

func TestUnknownHoursAreNeverGood(t *testing.T) {
	s, wet, _ := day24(t)
	wet[10] = wetness.Unknown
	hs := WorkHours(s, wet, s.Start(), s.End(), lit, DefaultHourLimits())
	for _, h := range hs {
		if h.From.Hour() == 10 {
			assert.True(t, h.Unknown)
			assert.False(t, h.Good)
			assert.Equal(t, []string{"weather missing"}, h.Why)
		}
	}
	assert.NotContains(t, goodHours(hs), 10)
}
