package lang_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/lang"
	"plotwarden/risk/catalog"
)

// TestTheCatalogueHasItsNames asks for the Spanish of all that a reason may
// name: threats, stages, units, what a model counts from, crops.
func TestTheCatalogueHasItsNames(t *testing.T) {
	c, err := catalog.Load()
	require.NoError(t, err)
	has := func(s string) {
		if s != "" {
			assert.True(t, lang.Spanish.Has(s), "%q has no Spanish", s)
		}
	}
	require.NotEmpty(t, c.Threats)
	for i := range c.Threats {
		th := &c.Threats[i]
		has(th.Name)
		for j := range th.Models {
			m := &th.Models[j]
			has(m.Spec.Unit())
			has(m.Spec.Start().Event)
			for _, st := range m.Spec.Stages() {
				has(st.Name)
			}
		}
	}
	for _, id := range garden.CropIDs() {
		crop, _ := garden.CropByID(id)
		has(crop.Name)
	}
}
