package catalog

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/risk"
	"plotwarden/risk/model"
	"plotwarden/weather"
)

// invented makes a year of hours with a season, days and rain in them: weather
// that no place had, in which every rule has something to do.
func invented(t *testing.T) *weather.Series {
	t.Helper()
	start := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	s := weather.NewSeries(start, 365*24)
	o, err := s.AddOrigin(weather.Origin{Source: "invented"})
	require.NoError(t, err)
	for i := range s.Len() {
		year := -math.Cos(2 * math.Pi * float64(i-24*20) / 8760)
		day := math.Sin(2 * math.Pi * (float64(i%24) - 9) / 24)
		spell := math.Sin(float64(i) / 53)
		temp := 11 + 13*year + 6*day
		s.Set(weather.Temp, i, temp, o)
		s.Set(weather.RH, i, math.Min(100, math.Max(20, 82-20*day+22*spell)), o)
		s.Set(weather.Wind, i, 2+math.Abs(spell), o)
		s.Set(weather.Soil, i, 10+11*year+1.5*day, o)
		rain := 0.0
		if d := i / 24; (spell > 0.8 && i%7 < 3) || (d >= 145 && d < 148) { // three wet days late in May
			rain = 1.2
		}
		s.Set(weather.Rain, i, rain, o)
	}
	return s
}

// Every model of the catalogue runs over a year: a point a day, no missing
// hours in whole weather, totals that are numbers, and events in order.
func TestEveryModelRuns(t *testing.T) {
	c := shipped(t)
	s := invented(t)
	silent := map[string]bool{}
	for _, id := range c.ModelIDs() {
		m, _ := c.Model(id)
		start := civil.New(2026, 4, 20)
		if st := m.Spec.Start(); st.Kind == model.FromCalendar {
			start = st.Day.In(2026)
		}
		tr, err := m.Spec.Run(&model.Input{Weather: s, Zone: time.UTC, Start: start})
		require.NoError(t, err, id)
		require.NotEmpty(t, tr.Points, id)
		assert.Equal(t, m.Spec.Unit(), tr.Unit, id)
		for i, p := range tr.Points {
			if p.Date > civil.New(2026, 12, 28) {
				break // the last days wait for hours that the record lacks
			}
			assert.False(t, math.IsNaN(p.Total) || math.IsInf(p.Total, 0), "%s on %s", id, p.Date)
			assert.Zero(t, p.UnknownHours, "%s on %s", id, p.Date)
			if i > 0 {
				require.Equal(t, tr.Points[i-1].Date+1, p.Date, id)
			}
		}
		last := civil.Date(0)
		for _, e := range tr.Events {
			require.GreaterOrEqual(t, e.Date, last, id)
			last = e.Date
			assert.Contains(t, []risk.EventKind{risk.Crossing, risk.Infection, risk.Reset}, e.Kind, id)
		}
		silent[id] = len(tr.Events) == 0
	}
	// In this year every default names at least one day. Degree-day rules cross
	// their first stage; the last need not be reached.
	for i := range c.Threats {
		if m, ok := c.Threats[i].Default(); ok {
			assert.False(t, silent[m.ID], "%s named no day", m.ID)
		}
	}
}
