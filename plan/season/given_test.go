package season

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"plotwarden/garden"
)

// Rain and irrigation together are held against about 25 mm a week (common
// practice): what is set and what is logged both count, never twice.
func TestWaterThatIsGiven(t *testing.T) {
	s := site(garden.Planting{ID: "tom", Crop: "tomato", PlantedOut: may12 - 30}, garden.Planting{ID: "pea", Crop: "pea", Sown: may12 - 2})
	s.Watering = []garden.Watering{{Planting: "tom", Mm: 6, Days: []garden.Weekday{garden.On(time.Monday), garden.On(time.Thursday)}}, {Mm: 1, From: may12 - 1}}
	mm, other := 9.0, 4.0
	records := []garden.Record{
		{ID: "w1", Planting: "tom", Start: (may12 - 5).Slot(7, 0, s.Location()), Water: &mm, WaterUnit: "mm", Method: "watered"},                             // Thursday: instead of 6
		{ID: "w2", Planting: "tom", Start: (may12 - 4).Slot(7, 0, s.Location()), Water: &other, WaterUnit: "l", Method: "watered"},                           // no mm
		{ID: "w3", Planting: "tom", Start: (may12 - 3).Slot(7, 0, s.Location()), Water: &other, WaterUnit: "mm", Product: "soap"},                            // a spray
		{ID: "w4", Planting: "tom", Start: (may12 - 40).Slot(7, 0, s.Location()), Water: &mm, WaterUnit: "mm", Method: "watered"},                            // before
		{ID: "w5", Planting: "tom", Start: (may12 - 5).Slot(8, 0, s.Location()), Replaces: "w1", Why: "jug", Water: &mm, WaterUnit: "mm", Method: "watered"}, // corrected, once
	}
	sum := map[string]float64{}
	for _, w := range Given(s, records, may12-7, may12-1) {
		sum[w.Planting] += w.Mm
	}
	assert.Equal(t, map[string]float64{"tom": 9 + 6 + 1, "pea": 1}, sum, "Thursday 9 logged, Monday 6 set, and 1 on the last day")
	l := Water(s, spell(may12-10, 10, 5, 15, 12, 1), Given(s, records, may12-7, may12-1), may12)
	assert.Equal(t, 16.0, l[0].Given)
	assert.Equal(t, 7.0, l[0].Rain)
}
