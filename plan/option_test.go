package plan

import (
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
)

var catalogueOnce = sync.OnceValues(catalog.Load)

func loadCatalogue(t *testing.T) *catalog.Catalogue {
	t.Helper()
	c, err := catalogueOnce()
	require.NoError(t, err)
	return c
}

func threat(t *testing.T, id string) *catalog.Threat {
	t.Helper()
	x, ok := loadCatalogue(t).ByID(id)
	require.True(t, ok, id)
	return x
}

// What looks like a rate of mixing, an interval between sprays or a wait before
// harvest may not stand in our data: it belongs to the label.
var rate = regexp.MustCompile(`(?i)\d\s*(g|ml|oz|tbsp|tsp|tablespoons?|teaspoons?|tablets?|lb|kg)\b|\d\s*(g|ml|kg|oz)/|\bper (gallon|litre|liter)|\bevery \d+|\d+(-\d+)? days? (before|to) harvest|\d\s*h(ours)? re-?entry`)

func TestOptionsDataHoldsSourcesAndNoLabelValues(t *testing.T) {
	cat := loadCatalogue(t)
	assert.Regexp(t, rate, "use 5 g/L", "the check itself works")
	for _, in := range append(Ingredients(), HomeMixes()...) {
		assert.NotEmpty(t, in.Source.Text, in.Name)
		assert.NotEqual(t, risk.Unstated, in.Source.Standing, in.Name)
		assert.NotEmpty(t, in.How, in.Name)
		assert.NotEmpty(t, in.Acts, in.Name)
		assert.NotEmpty(t, in.Wears, in.Name)
		assert.Equal(t, in.Wears == BySun, in.Sun.Gone > 0, in.Name)
		texts := append([]string{in.How, in.Bees}, in.Cautions...)
		for _, e := range in.Evidence {
			assert.Contains(t, []string{"helped", "partly", "no effect"}, e.Result, in.Name)
			assert.NotEmpty(t, e.Source.Text, in.Name)
			assert.NotEqual(t, risk.Unstated, e.Source.Standing, in.Name)
			texts = append(texts, e.Text)
		}
		for _, s := range texts {
			assert.NotRegexp(t, rate, s, in.Name)
		}
		for _, id := range in.Threats {
			_, ok := cat.ByID(id)
			assert.True(t, ok, "%s names the threat %s", in.Name, id)
		}
		for _, id := range in.Crops {
			_, ok := garden.CropByID(id)
			assert.True(t, ok, "%s names the crop %s", in.Name, id)
		}
		got := IngredientOf(in.Name)
		require.NotNil(t, got, in.Name)
		assert.Equal(t, in.Name, got.Name)
	}
	for _, s := range known().Stops {
		assert.Greater(t, s.From, s.To)
		assert.NotEmpty(t, s.Source.Text)
		for _, id := range s.Threats {
			_, ok := cat.ByID(id)
			assert.True(t, ok, id)
		}
	}
}

// Every home mix is shown with what failed as well.
func TestHomeMixesShowNullResults(t *testing.T) {
	for _, in := range HomeMixes() {
		assert.True(t, slices.ContainsFunc(in.Evidence, func(e Evidence) bool { return e.Result == "no effect" }), in.Name)
		assert.NotEmpty(t, in.Crops, "%s: on which crops the trials were", in.Name)
	}
}

func TestEveryMaterialOfTheCatalogueIsKnown(t *testing.T) {
	for _, x := range loadCatalogue(t).Threats {
		for _, m := range x.Materials {
			if m.Ingredient == "nothing that cures" {
				continue
			}
			assert.NotNil(t, IngredientOf(m.Ingredient), "%s: %s", x.ID, m.Ingredient)
		}
	}
}

func TestIngredientOfLabelWords(t *testing.T) {
	for text, want := range map[string]string{
		"Copper octanoate (copper soap)":            "fixed copper",
		"Potassium salts of fatty acids 1%":         "insecticidal soap",
		"Bacillus thuringiensis subsp. kurstaki":    "Bacillus thuringiensis kurstaki",
		"Bacillus thuringiensis var. tenebrionis":   "Bacillus thuringiensis tenebrionis",
		"Clarified hydrophobic extract of neem oil": "neem oil",
		"sulphur":                "sulfur",
		"Potassium bicarbonate":  "potassium bicarbonate",
		"Bacillus thuringiensis": "Bacillus thuringiensis kurstaki",
		"baking soda in water":   "baking soda (sodium bicarbonate)",
		"skimmed milk":           "milk",
		"Pyrethrins (from chrysanthemum) with piperonyl": "pyrethrins",
	} {
		got := IngredientOf(text)
		if assert.NotNil(t, got, text) {
			assert.Equal(t, want, got.Name, text)
		}
	}
	assert.Nil(t, IngredientOf("stinging nettle tea"))
	assert.Nil(t, IngredientOf(""))
}

func TestOptionsInOrderWithTheGrowersOwn(t *testing.T) {
	own := []garden.Material{
		{ID: "a", Name: "wettable powder", Ingredient: "sulphur", Crops: []string{"zucchini"}},
		{ID: "b", Name: "dusting powder", Ingredient: "sulfur", Crops: []string{"rose"}},
		{ID: "c", Ingredient: "potassium bicarbonate"},
	}
	os := Options(threat(t, "cucurbit-powdery-mildew"), "zucchini", own)
	var names []string
	byName := map[string]Option{}
	for _, o := range os {
		names = append(names, o.Ingredient)
		byName[o.Ingredient] = o
	}
	assert.Equal(t, []string{
		"sulfur", "Reynoutria (giant knotweed) extract", "Bacillus subtilis or amyloliquefaciens",
		"potassium bicarbonate", "horticultural oil", "neem oil",
		"baking soda (sodium bicarbonate)", "milk",
	}, names)
	assert.Equal(t, []string{"wettable powder"}, byName["sulfur"].Own, "a label that rules the crop out is not offered")
	assert.Equal(t, []string{"potassium bicarbonate"}, byName["potassium bicarbonate"].Own, "a label of which nothing is said is")
	assert.True(t, byName["milk"].NotHere, "its trials were on butternut only")
	assert.False(t, byName["baking soda (sodium bicarbonate)"].NotHere)
	for _, o := range os {
		assert.Equal(t, strings.Contains(o.Ingredient, "soda") || o.Ingredient == "milk", o.Home, o.Ingredient)
	}
}

// Thresholds with source: action-thresholds of the catalogue.
func TestThresholdsHoldForTheirCropOnly(t *testing.T) {
	for _, c := range []struct {
		threat, crop string
		want         int
	}{
		{"imported-cabbageworm", "cabbage", 3},
		{"imported-cabbageworm", "broccoli", 1},
		{"imported-cabbageworm", "kale", 0},
		{"crucifer-flea-beetle", "radish", 1}, // "cole crops"
		{"striped-cucumber-beetle", "cucumber", 1},
		{"striped-cucumber-beetle", "melon", 1},
		{"cucurbit-powdery-mildew", "zucchini", 1},
		{"cucurbit-powdery-mildew", "cucumber", 0},
		{"tomato-early-blight", "tomato", 1},
	} {
		assert.Len(t, Thresholds(threat(t, c.threat), c.crop), c.want, "%s on %s", c.threat, c.crop)
	}
	got := thresholdText(Thresholds(threat(t, "imported-cabbageworm"), "cabbage")[0])
	assert.Equal(t, "Within a week of transplanting on: % plants infested with imported cabbageworm or diamondback: 5 (on a small plot: 1 in 20 plants).", got)
}

// Every crop in the words of a threshold is one that some planting can have.
func TestEveryThresholdCoversSomeCrop(t *testing.T) {
	for _, x := range loadCatalogue(t).Threats {
		for _, a := range x.Threshold {
			assert.True(t, slices.ContainsFunc(garden.CropIDs(), func(id string) bool { return thresholdCovers(a.Crop, id) }), "%s: %s", x.ID, a.Crop)
		}
	}
}
