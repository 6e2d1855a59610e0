package garden

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
)

// What people make in the browser is kept as JSON: it reads back as it was, with
// what was not said left out.
func TestTheGroundReadsBackFromJSON(t *testing.T) {
	d := civil.New(2026, time.May, 3)
	none := 0
	hot := Degrees(90)
	for name, in := range map[string]any{
		"site": &Site{ID: "north", Name: "North", Latitude: -34.5, Longitude: 0.25, Elevation: 205.5, Zone: "America/New_York", SeasonStart: civil.MonthDay{Month: 7, Day: 1},
			Plots: []Plot{{ID: "a", Name: "Bed A", Grower: "wren", Plantings: []Planting{{ID: "t", Crop: "tomato", Cultivar: "Long Red", Susceptibility: Resistant, Sown: d, PlantedOut: d + 9, Removed: d + 90, Cover: RowCover, Mulch: Straw, Irrigation: Drip}}}}},
		"plain site": &Site{ID: "north", Latitude: 1, Longitude: 2, Zone: "UTC", Plots: []Plot{{ID: "a", Plantings: []Planting{{ID: "k", Crop: "kale", Sown: d}}}}},
		"person": &Person{ID: "wren", Name: "Wren", Email: "wren@example.org", Sites: []string{"north"}, Units: US, Quiet: true, Digest: "07:00", Language: Spanish,
			QuietHours: QuietHours{0, 360}, Holidays: []Holiday{{d, d + 3}}, Weekly: On(time.Sunday), Mute: []Mute{{"late-blight", d}}, Webhook: Webhook{URL: "https://example.org/x", SecretFile: "s"}},
		"plain person": &Person{ID: "wren"},
		"region":       &Region{ID: "valley", Name: "Valley", Sites: []string{"north"}, Volunteers: []string{"wren"}},
		"material":     &Material{ID: "m", Ingredient: "sulfur", PreHarvestDays: &none, MaxTemp: &hot, Bees: BeesAway, FollowUp: &FollowUp{Text: "rinse", At: "07:00"}},
	} {
		t.Run(name, func(t *testing.T) {
			b, err := json.Marshal(in)
			require.NoError(t, err)
			var out any
			switch in.(type) {
			case *Site:
				out = &Site{}
			case *Person:
				out = &Person{}
			case *Region:
				out = &Region{}
			default:
				out = &Material{}
			}
			require.NoError(t, json.Unmarshal(b, out), string(b))
			assert.Equal(t, in, out)
			assert.NotContains(t, string(b), `""`, "what is not said is left out")
		})
	}
}
