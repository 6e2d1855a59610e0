package garden

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/strict"
)

func TestWateringFalls(t *testing.T) {
	monday := civil.New(2026, 6, 1)
	w := Watering{Planting: "tom", Mm: 6, Days: []Weekday{On(time.Monday), On(time.Thursday)}, From: monday, To: monday + 9}
	var got []int
	for d := monday - 7; d <= monday+21; d++ {
		if w.Falls("tom", d) {
			got = append(got, d.Sub(monday))
		}
	}
	assert.Equal(t, []int{0, 3, 7}, got)
	assert.False(t, w.Falls("other", monday))
	assert.True(t, (&Watering{Mm: 1}).Falls("any", monday+3), "no planting and no days: all of them, every day")
}

func TestCareOfASiteIsChecked(t *testing.T) {
	s := &Site{ID: "north", Latitude: 40, Longitude: -74, Zone: "America/New_York",
		PeopleHours: []PeopleHours{{From: "15:00"}, {From: "15:00", To: "15:00"}, {From: "22:00", To: "02:00"}},
		Watering:    []Watering{{Mm: 0}, {Mm: 5, Planting: "nowhere"}, {Mm: 5, From: 100, To: 50}}}
	problems, _ := ValidateSite(s, Around{})
	var all string
	for _, p := range problems {
		all += p.Message + "; "
	}
	for _, want := range []string{"needs from and to", "begin and end at 15:00", "mm 0 is not between", `planting of site north "nowhere"`, "is before from"} {
		assert.Contains(t, all, want)
	}
}

// Both are written in the configuration file and kept as JSON.
func TestCareOfASiteIsRead(t *testing.T) {
	var s Site
	_, faults := strict.Decode("x.yaml", strings.NewReader(`
id: north
people_hours:
  - {from: "15:00", to: "18:00", days: [saturday, sunday], why: open day}
watering:
  - {planting: tom, mm: 6, days: [monday], from: 2026-06-01}
`), &s)
	require.Empty(t, faults)
	assert.Equal(t, []time.Weekday{time.Saturday, time.Sunday}, s.PeopleHours[0].On())
	assert.True(t, s.Watering[0].Falls("tom", civil.New(2026, 6, 8)))
	b, err := json.Marshal(s)
	require.NoError(t, err)
	var again Site
	require.NoError(t, json.Unmarshal(b, &again))
	assert.Equal(t, s, again)
	_, faults = strict.Decode("x.yaml", strings.NewReader("people_hours: [{from: 25:00}]\nwatering: [{days: [someday]}]"), &Site{})
	assert.Len(t, faults, 2)
}
