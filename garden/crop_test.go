package garden

import (
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestCropsAreSortedUniqueAndComplete(t *testing.T) {
	ids := CropIDs()
	assert.True(t, slices.IsSorted(ids), "sorted")
	assert.Len(t, slices.Compact(slices.Clone(ids)), len(ids), "unique")
	word := regexp.MustCompile(`^[a-z]+( [a-z]+)*$`)
	code := regexp.MustCompile(`^[A-Z]{5}$`)
	for _, c := range Crops() {
		assert.Regexp(t, word, c.ID)
		assert.NotEmpty(t, c.Name, c.ID)
		assert.NotEmpty(t, c.Latin, c.ID)
		assert.Regexp(t, `^[A-Z][a-z]+aceae$`, c.Family, c.ID)
		if c.EPPO != "" {
			assert.Regexp(t, code, c.EPPO, c.ID)
		}
	}
	for _, id := range []string{"tomato", "potato", "pepper", "eggplant", "cabbage", "broccoli", "cauliflower", "kale",
		"brussels sprouts", "radish", "turnip", "cucumber", "summer squash", "winter squash", "pumpkin", "melon",
		"watermelon", "pea", "snap bean", "dry bean", "sweet corn", "lettuce", "spinach", "chard", "beet", "carrot",
		"celery", "parsley", "onion", "leek", "garlic", "asparagus", "basil", "strawberry", "apple", "grape", "peach"} {
		assert.Contains(t, ids, id)
	}
}

func TestCropByID(t *testing.T) {
	c, ok := CropByID("Brussels sprouts")
	require.True(t, ok)
	assert.Equal(t, "Brassicaceae", c.Family)
	assert.False(t, c.Warm)
	_, ok = CropByID("triffid")
	assert.False(t, ok)

	all := Crops()
	all[0].ID = "changed"
	_, ok = CropByID("changed")
	assert.False(t, ok, "the list cannot be changed from outside")
}

// Years: UConn IPM rotation table and MacNab & Zitter; alliums from memory.
func TestRotationOf(t *testing.T) {
	for family, years := range map[string][2]int{
		"Solanaceae": {3, 4}, "Brassicaceae": {2, 4}, "Cucurbitaceae": {2, 2}, "Fabaceae": {2, 2},
		"Amaranthaceae": {3, 3}, "Asteraceae": {3, 3}, "Amaryllidaceae": {3, 3},
	} {
		r, ok := RotationOf(family)
		require.True(t, ok, family)
		assert.Equal(t, years, [2]int{r.Years, r.UpTo}, family)
		assert.Equal(t, family, r.Family)
		assert.NotEmpty(t, r.Source)
		assert.Contains(t, []string{"confirmed", "from memory"}, r.Standing)
		assert.Contains(t, Families(), family)
	}
	_, ok := RotationOf("Apiaceae")
	assert.False(t, ok, "no source gave years for the carrot family")
}
