package garden

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"plotwarden/civil"
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
