package catalog

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/model"
)

func shipped(t *testing.T) *Catalogue {
	t.Helper()
	c, err := Load()
	require.NoError(t, err)
	return c
}

func TestEveryThreatSaysWhatAGrowerNeeds(t *testing.T) {
	c := shipped(t)
	assert.True(t, slices.IsSorted(c.IDs()))
	for i := range c.Threats {
		th := &c.Threats[i]
		assert.NotEmpty(t, th.Look, th.ID)
		assert.NotEmpty(t, th.Where, th.ID)
		assert.NotEmpty(t, th.Season, th.ID)
		assert.NotEmpty(t, th.Cultural, th.ID)
		assert.NotEmpty(t, th.Crops, th.ID)
		assert.Equal(t, len(th.Models) == 0, th.LogOnly != "", "%s: models or a reason for none", th.ID)
		got, ok := c.ByID(th.ID)
		require.True(t, ok)
		assert.Same(t, th, got)
		assert.True(t, th.Attacks(th.Crops[0]))
		assert.False(t, th.Attacks("no crop"))
	}
	_, ok := c.ByID("triffid")
	assert.False(t, ok)
	_, ok = c.Model("triffid/day-1951")
	assert.False(t, ok)
}

// Every number of every model stands under a source with a standing.
func TestEveryModelHasSourceStandingAndStart(t *testing.T) {
	c := shipped(t)
	ids := c.ModelIDs()
	assert.True(t, slices.IsSorted(ids))
	assert.Len(t, slices.Compact(slices.Clone(ids)), len(ids))
	for _, id := range ids {
		m, ok := c.Model(id)
		require.True(t, ok, id)
		assert.Equal(t, m.Threat, id[:strings.Index(id, "/")])
		assert.NotEmpty(t, m.Source.Text, id)
		assert.NotEqual(t, risk.Unstated, m.Source.Standing, id)
		assert.NotEmpty(t, m.Validated, id)
		assert.NotNil(t, m.Spec, id)
		assert.NotEqual(t, risk.Unstated, m.Spec.Start().Standing, id)
		assert.NotEmpty(t, m.Spec.Needs(), id)
		for _, p := range m.Parts {
			assert.True(t, slices.ContainsFunc(m.Notes, func(n string) bool { return strings.HasPrefix(n, p.What) }), "%s: %q is not among the notes", id, p.What)
		}
	}
}

// A default model must be able to name a day: by a stage, or by infections.
func TestDefaultsCanNameADay(t *testing.T) {
	c := shipped(t)
	withInfections := []string{"consecutive-days", "infection-model", "wet-period-table", "wet-morning", "humid-night", "blossom-heat"}
	for i := range c.Threats {
		m, ok := c.Threats[i].Default()
		if !ok {
			continue
		}
		assert.True(t, len(m.Spec.Stages()) > 0 || slices.Contains(withInfections, m.Spec.Kind()), m.ID)
	}
}

// What is from memory never passes for confirmed: a memory start or part shows
// in the weakest standing and in the notes.
func TestWeakestStanding(t *testing.T) {
	c := shipped(t)
	for id, want := range map[string]risk.Standing{
		"imported-cabbageworm/delahaut-2015":      risk.FromMemory, // start and method
		"squash-vine-borer/south-dakota-2021":     risk.FromMemory, // start
		"tomato-early-blight/madden-1978":         risk.FromMemory, // table
		"european-corn-borer/apple-delahaut-2015": risk.Confirmed,
		"japanese-beetle/illinois-2015":           risk.Confirmed,
		"codling-moth/jones-2008":                 risk.Confirmed,
	} {
		m, ok := c.Model(id)
		require.True(t, ok, id)
		assert.Equal(t, want.String(), m.Weakest().String(), id)
	}
	for _, id := range []string{"imported-cabbageworm/delahaut-2015", "squash-vine-borer/south-dakota-2021", "tomato-early-blight/madden-1978"} {
		m, _ := c.Model(id)
		assert.Contains(t, strings.ToLower(strings.Join(m.Notes, " ")), "from memory", id)
	}
}

// Reference list of insects without a trustworthy model, and the migrants.
func TestLogOnlyAndMigrants(t *testing.T) {
	c := shipped(t)
	for _, id := range []string{"striped-cucumber-beetle", "squash-bug", "mexican-bean-beetle", "tomato-hornworm", "variegated-cutworm",
		"beet-armyworm", "pepper-maggot", "pea-aphid", "green-peach-aphid", "two-spotted-spider-mite", "spotted-wing-drosophila",
		"whitefly", "cabbage-looper"} {
		th, ok := c.ByID(id)
		require.True(t, ok, id)
		assert.Empty(t, th.Models, id)
	}
	for _, id := range []string{"corn-earworm", "fall-armyworm", "black-cutworm", "potato-leafhopper", "cabbage-looper", "diamondback-moth", "beet-armyworm"} {
		th, ok := c.ByID(id)
		require.True(t, ok, id)
		assert.True(t, th.Migrant, id)
		for _, m := range th.Models {
			assert.Equal(t, model.FromCatch, m.Spec.Start().Kind, m.ID)
			assert.Contains(t, strings.Join(m.Notes, " "), "starts from", m.ID)
		}
	}
}

func TestForCrop(t *testing.T) {
	c := shipped(t)
	for _, crop := range garden.CropIDs() {
		for _, th := range c.ForCrop(crop) {
			assert.Contains(t, th.Crops, crop)
		}
	}
	var tomato []string
	for _, th := range c.ForCrop("tomato") {
		tomato = append(tomato, th.ID)
	}
	assert.Subset(t, tomato, []string{"tomato-early-blight", "late-blight", "septoria-leaf-spot", "tomato-anthracnose", "tomato-bacterial-spot", "tomato-hornworm", "colorado-potato-beetle"})
	assert.NotContains(t, tomato, "imported-cabbageworm")
	for _, crop := range []string{"cabbage", "summer squash", "cucumber", "pea", "snap bean", "lettuce", "spinach", "onion", "carrot", "potato", "sweet corn"} {
		assert.NotEmpty(t, c.ForCrop(crop), crop)
	}
}

func TestNoAdviceGivesARateOrADiagnosis(t *testing.T) {
	c := shipped(t)
	for i := range c.Threats {
		page := Page(c.Threats[i])
		assert.NotRegexp(t, `(?i)you have`, page, c.Threats[i].ID)
		for _, m := range c.Threats[i].Materials {
			assert.False(t, rateForm.MatchString(m.Text), "%s: %s", c.Threats[i].ID, m.Text)
		}
	}
	for _, s := range []string{"4 g/L of it", "1 tablespoon a gallon", "2 tablets", "10 ml", "3 oz"} {
		assert.True(t, rateForm.MatchString(s), s)
	}
	for _, s := range []string{"40 % fewer pests", "53 growers", "14 days", "100 larvae", "above 32 C"} {
		assert.False(t, rateForm.MatchString(s), s)
	}
}
