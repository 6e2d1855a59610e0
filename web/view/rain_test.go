package view

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/wetness"
	"plotwarden/store"
	"plotwarden/weather"
)

// rainy is a site in UTC at 07:00 with ten days of weather: dry until 18:00, then
// rain until 21:00, and nothing known from the fourth day on.
func rainy(t *testing.T) (*In, *weather.Series, Wet) {
	t.Helper()
	now := time.Date(2026, 7, 6, 7, 0, 0, 0, time.UTC)
	in := &In{Garden: &garden.Garden{}, Site: &garden.Site{ID: "s", Name: "Ground", Zone: "UTC"}, Now: now}
	from, _ := RainSpan(in)
	s := weather.NewSeries(from, 72)
	o, err := s.AddOrigin(weather.Origin{Source: "test", Kind: weather.Forecast})
	require.NoError(t, err)
	for i := range 72 {
		s.Set(weather.Temp, i, 10+float64(i%24)/2, o)
		rain := 0.0
		if i >= 18 && i < 21 {
			rain = 1.5
		}
		s.Set(weather.Rain, i, rain, o)
	}
	wet := func(s *weather.Series) []wetness.State {
		out := make([]wetness.State, s.Len())
		for i := range out {
			out[i] = wetness.Dry
			if r := s.Value(weather.Rain, i); r > 0 {
				out[i] = wetness.Wet
			}
		}
		return out
	}
	in.Round = &store.Round{At: now, Hours: []plan.Hours{
		{From: from.Add(9 * time.Hour), To: from.Add(20 * time.Hour), Good: true},
		{From: from.Add(20 * time.Hour), To: from.Add(72 * time.Hour), Why: []string{"rain"}},
	}}
	return in, s, wet
}

func TestRainPage(t *testing.T) {
	in, s, wet := rainy(t)
	p := Rain(in, s, wet)
	assert.Contains(t, p.First, "The next rain is forecast for today 18:00.")
	assert.Contains(t, p.First, "today 09:00 to 18:00", "what fits before it ends with the rain")
	require.Len(t, p.Days, RainDays)
	assert.Equal(t, RainDay{Day: "Today", Low: "10.0", High: "21.5", Rain: "4.5", Wet: "3 hours", Work: "09:00 to 20:00"}, p.Days[0])
	assert.Equal(t, "0.0", p.Days[1].Rain)
	last := p.Days[RainDays-1]
	assert.True(t, last.Unknown)
	assert.Equal(t, "not known", last.Wet)
	assert.NotContains(t, last.Rain, "0", "unknown rain is not dry")
	assert.Equal(t, 3, strings.Count(string(p.Drawing), `class="rain"`))
	assert.Contains(t, string(p.Drawing), `class="unknown"`)
	assert.Contains(t, string(p.Drawing), "Today: 10.0 to 21.5")
}

func TestRainWithoutWeather(t *testing.T) {
	in, _, wet := rainy(t)
	p := Rain(in, nil, wet)
	assert.Contains(t, p.First, "Nothing is known of the rain ahead")
	for _, d := range p.Days {
		assert.True(t, d.Unknown)
	}
	assert.NotContains(t, string(p.Drawing), "NaN")
}

// No rain in what is known says only how far it is known.
func TestRainNoneKnown(t *testing.T) {
	in, s, wet := rainy(t)
	for i := range s.Len() {
		s.Set(weather.Rain, i, 0, 1)
	}
	assert.Contains(t, Rain(in, s, wet).First, "what comes after is not known")
}

// An hour in which it rains already is not "next".
func TestRainNow(t *testing.T) {
	in, s, wet := rainy(t)
	in.Now = civil.Of(in.Now, time.UTC).Slot(18, 30, time.UTC)
	assert.Contains(t, Rain(in, s, wet).First, "It rains now, by the forecast.")
}
