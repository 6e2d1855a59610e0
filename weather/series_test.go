package weather

import (
	"math"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
)

func hoursFrom(t *testing.T, start string, n int) *Series {
	t.Helper()
	at, err := time.Parse(time.RFC3339, start)
	require.NoError(t, err)
	return NewSeries(at, n)
}

func TestSeriesKeepsMissingAndOrigin(t *testing.T) {
	s := hoursFrom(t, "2026-06-01T00:00:00Z", 3)
	o, err := s.AddOrigin(Origin{Source: "own", Kind: Station})
	require.NoError(t, err)
	s.Set(Temp, 1, 20, o)
	assert.True(t, math.IsNaN(s.Value(Temp, 0)))
	assert.Equal(t, 20.0, s.Value(Temp, 1))
	got, ok := s.OriginAt(Temp, 1)
	assert.True(t, ok)
	assert.Equal(t, "own", got.Source)
	_, ok = s.OriginAt(Temp, 0)
	assert.False(t, ok)
	assert.Nil(t, s.Column(RH))
	s.Set(Temp, 1, math.NaN(), 0)
	_, ok = s.OriginAt(Temp, 1)
	assert.False(t, ok)
	assert.Panics(t, func() { s.Set(Temp, 1, 5, 9) })
	assert.Panics(t, func() { NewSeries(s.Start().Add(time.Minute), 1) })
}

func TestSliceAndExtendKeepValues(t *testing.T) {
	s := hoursFrom(t, "2026-06-01T00:00:00Z", 5)
	o, _ := s.AddOrigin(Origin{Source: "own", Kind: Station})
	for i := range 5 {
		s.Set(Temp, i, float64(i), o)
	}
	c := s.Slice(1, 3)
	assert.Equal(t, []float64{1, 2}, c.Column(Temp))
	e := c.Extend(s.Start(), s.End())
	assert.Equal(t, s.Start(), e.Start())
	assert.Equal(t, 5, e.Len())
	assert.Equal(t, 2.0, e.Value(Temp, 2))
	assert.True(t, math.IsNaN(e.Value(Temp, 4)))
	assert.Same(t, e, e.Extend(s.Start(), s.End()))
}

func TestDaysOnClockChange(t *testing.T) {
	ny, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	s := NewSeries(civil.New(2026, 3, 7).Start(ny), 24+23+24)
	o, _ := s.AddOrigin(Origin{Source: "own", Kind: Station})
	for i := range s.Len() {
		s.Set(Temp, i, float64(i), o)
		s.Set(Rain, i, 1, o)
	}
	days := s.Days(ny)
	require.Len(t, days, 3)
	assert.Equal(t, "2026-03-08", days[1].Date.String())
	assert.Equal(t, 23, days[1].Hours)
	assert.Equal(t, 24.0, days[1].Min)
	assert.Equal(t, 46.0, days[1].Max)
	assert.Equal(t, 23.0, days[1].Rain)
	ws := s.Windows(ny, 12, true)
	require.Len(t, ws, 4)
	assert.Equal(t, Window{civil.New(2026, 3, 7), -12, 12}, ws[0])
	assert.Equal(t, Window{civil.New(2026, 3, 8), 12, 35}, ws[1])
}

func TestDayWithTooFewHoursIsMissing(t *testing.T) {
	s := hoursFrom(t, "2026-06-01T00:00:00Z", 24)
	o, _ := s.AddOrigin(Origin{Source: "own", Kind: Station})
	for i := range MinHours - 1 {
		s.Set(Temp, i, 10, o)
	}
	assert.True(t, math.IsNaN(s.Days(time.UTC)[0].Min))
	s.Set(Temp, MinHours-1, 10, o)
	assert.Equal(t, 10.0, s.Days(time.UTC)[0].Min)
}
