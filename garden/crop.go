package garden

import (
	"slices"
	"strings"
)

// Crop is a kind of plant that a planting can be of.
type Crop struct {
	ID     string // lower case, as people write it: "summer squash"
	Name   string // as it stands in a sentence: "Brussels sprouts"
	Latin  string // species, with variety where that tells crops apart
	Family string // botanical family, the unit of rotation: "Solanaceae"
	// EPPO is the plant's code in EPPO's open list. All codes here are from
	// memory; a crop whose code was not certain has none.
	EPPO      string
	Warm      bool // a warm-season crop: frost kills it and cold soil stunts it
	Perennial bool // stays in its bed for years; rotation does not apply
}

// Crops returns all crops in order of id. The caller may change the slice.
func Crops() []Crop { return slices.Clone(crops) }

// CropByID finds a crop by its id, whatever its capitals.
func CropByID(id string) (Crop, bool) {
	c, ok := cropIndex[strings.ToLower(id)]
	return c, ok
}

// CropIDs returns all ids in order.
func CropIDs() []string {
	ids := make([]string, len(crops))
	for i, c := range crops {
		ids[i] = c.ID
	}
	return ids
}

// Families returns the botanical families of all crops in order.
func Families() []string {
	var out []string
	for _, c := range crops {
		out = append(out, c.Family)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

var cropIndex = func() map[string]Crop {
	m := make(map[string]Crop, len(crops))
	for _, c := range crops {
		m[c.ID] = c
	}
	return m
}()
