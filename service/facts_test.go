package service

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/weather"
)

// hoursOf makes a series of one value of humidity and temperature, with a cold
// night.
func hoursOf(start time.Time, n int, rh float64, coldAt int) *weather.Series {
	s := weather.NewSeries(start, n)
	o, err := s.AddOrigin(weather.Origin{Source: "own", Kind: weather.Station})
	if err != nil {
		panic(err)
	}
	for i := range n {
		temp := 15.0
		if i == coldAt {
			temp = 1
		}
		s.Set(weather.Temp, i, temp, o)
		s.Set(weather.RH, i, rh, o)
		s.Set(weather.Rain, i, 0, o)
	}
	return s
}

func TestAHomeMixIsGoneAfterADewyNight(t *testing.T) {
	zone := time.UTC
	now := time.Date(2026, 6, 10, 12, 0, 0, 0, time.UTC)
	v := &siteView{site: &garden.Site{ID: "north", Zone: "Etc/UTC"}, zone: zone, now: now, today: civil.Of(now, zone), hours: hoursOf(now.Add(-72*time.Hour), 96, 97, -1)}
	c := &plan.Case{Planting: &garden.Planting{Crop: "tomato"}}
	v.sharpen(c)
	require.NotNil(t, c.WetSince)
	wet, unknown := c.WetSince(now.Add(-10 * time.Hour))
	assert.Equal(t, [2]int{10, 0}, [2]int{wet, unknown}, "the hours of wet leaves since")
	require.Len(t, c.Days, 5)
	v.hours, v.facts = hoursOf(now.Add(-72*time.Hour), 96, 50, -1), siteFacts{}
	v.sharpen(c)
	wet, _ = c.WetSince(now.Add(-10 * time.Hour))
	assert.Zero(t, wet)
}

// What follows a treatment, and a night to cover for, reach the round's messages.
func TestRemindersOfTheRound(t *testing.T) {
	now := time.Date(2026, 5, 12, 6, 0, 0, 0, time.UTC)
	site := &garden.Site{ID: "north", Latitude: 42, Zone: "Etc/UTC", Plots: []garden.Plot{{ID: "b", Plantings: []garden.Planting{{ID: "tom", Crop: "tomato", PlantedOut: civil.New(2026, 5, 1)}}}}}
	v := &siteView{site: site, zone: time.UTC, now: now, today: civil.Of(now, time.UTC), hours: hoursOf(civil.Of(now, time.UTC).Start(time.UTC), 72, 60, 28),
		materials: []garden.Material{{ID: "mix", Name: "the mix", Kind: garden.KindHomeMix, FollowUp: &garden.FollowUp{Text: "rinse it off", At: "07:00"}}}}
	records := []garden.Record{
		{ID: "r1", Planting: "tom", Material: "mix", Start: now.Add(-10 * time.Hour)},
		{ID: "r2", Planting: "tom", Material: "mix", Start: now.Add(-60 * time.Hour)}, // its time has passed
		{ID: "r3", Planting: "tom", Product: "soap", Test: true, Start: now.Add(-30 * time.Hour)},
	}
	got := v.reminders(records)
	require.Len(t, got, 3)
	assert.Equal(t, "After the mix: rinse it off.", got[0].Text)
	assert.Equal(t, now.Add(time.Hour), got[0].At)
	assert.Contains(t, got[1].Text, "Before dusk")
	assert.Equal(t, civil.New(2026, 5, 12), civil.Of(got[1].At, time.UTC), "on the evening before")
	assert.Contains(t, got[2].Text, "Look at the leaves of the test spray")
}

func TestFrostsAreLearnedOnce(t *testing.T) {
	var f frosts
	site := &garden.Site{ID: "north", Latitude: 42, Zone: "Etc/UTC"}
	start := time.Date(2023, 1, 1, 0, 0, 0, 0, time.UTC)
	past := hoursOf(start, 3*365*24+24, 60, 24*120+3) // 1 C is no frost
	y := f.learn(site, past)
	assert.Equal(t, 3, y.spring.Seasons)
	assert.Equal(t, 3, y.spring.NoFrost)
	assert.Equal(t, y, f.learn(site, nil), "kept for a round without past weather")
	s := &Service{frost: frosts{of: f.of}}
	_, autumn := s.Frosts("north")
	assert.Equal(t, 3, autumn.Seasons)
	none, _ := s.Frosts("elsewhere")
	assert.Zero(t, none.Seasons)
}
