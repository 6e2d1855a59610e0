package garden

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func pointer(x float64) *float64 { return &x }

func TestTheNearestStakeCounts(t *testing.T) {
	site := &Site{Stakes: []Stake{{Crop: "tomato", Cost: pointer(1)}, {Threat: "late-blight", Cost: pointer(2)}}}
	plot := &Plot{Stakes: []Stake{{Threat: "late-blight", Crop: "potato", Cost: pointer(3)}}}
	for _, c := range []struct {
		threat, crop string
		cost         float64
	}{
		{"late-blight", "potato", 3},
		{"late-blight", "tomato", 2},
		{"tomato-early-blight", "tomato", 1},
	} {
		if got := StakeFor(site, plot, c.threat, c.crop); assert.NotNil(t, got, "%s on %s", c.threat, c.crop) {
			assert.Equal(t, c.cost, *got.Cost, "%s on %s", c.threat, c.crop)
		}
	}
	assert.Nil(t, StakeFor(site, plot, "cabbage-aphid", "cabbage"))
}

func TestStakesAreChecked(t *testing.T) {
	for want, s := range map[string]Stake{
		"stake names neither a threat nor a crop": {Efficacy: pointer(0.5)},
		"stake has no number":                     {Threat: "late-blight"},
		"cost and loss belong together":           {Threat: "late-blight", Cost: pointer(2)},
		"cost -1 is not a number from 0 up":       {Threat: "late-blight", Cost: pointer(-1), Loss: pointer(2)},
		"loss 0 is not a number above 0":          {Threat: "late-blight", Cost: pointer(1), Loss: pointer(0)},
		"efficacy 70 is not above 0":              {Threat: "late-blight", Efficacy: pointer(70)},
		"cost NaN":                                {Threat: "late-blight", Cost: pointer(math.NaN()), Loss: pointer(2)},
		`threat "late-blihgt" is not known`:       {Threat: "late-blihgt", Efficacy: pointer(0.5)},
		"is not known":                            {Crop: "tomatoe", Efficacy: pointer(0.5)},
	} {
		g := &Garden{Sites: []Site{{ID: "ground", Latitude: 40, Longitude: -73, Zone: "America/New_York", Stakes: []Stake{s}}}}
		problems, _ := g.Validate(Known{Threats: []string{"late-blight"}})
		found := false
		for _, p := range problems {
			found = found || strings.Contains(p.Message, want)
		}
		assert.True(t, found, "%s: %v", want, problems)
	}
	good := &Garden{Sites: []Site{{ID: "ground", Latitude: 40, Longitude: -73, Zone: "America/New_York", Plots: []Plot{{ID: "bed", Stakes: []Stake{{Threat: "late-blight", Cost: pointer(0), Loss: pointer(30)}}}}}}}
	problems, _ := good.Validate(Known{Threats: []string{"late-blight"}})
	assert.Empty(t, problems)
	bad := &Garden{Sites: []Site{{ID: "ground", Latitude: 40, Longitude: -73, Zone: "America/New_York", Stakes: []Stake{{Threat: "late-blight", Efficacy: pointer(1)}, {Threat: "late-blight", Efficacy: pointer(0.5)}}}}}
	problems, _ = bad.Validate(Known{Threats: []string{"late-blight"}})
	if assert.Len(t, problems, 1) {
		assert.Contains(t, problems[0].Message, "another stake for the same threat")
	}
}
