package web

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/risk/catalog"
	"plotwarden/web/view"
)

// Every threat of the catalogue that ships has a page that is well formed, names
// its models and says the standing of each.
func TestShippedCatalogueHasPages(t *testing.T) {
	c, err := catalog.Load()
	require.NoError(t, err)
	var _ view.Catalogue = c
	d, _ := deps(false)
	d.Catalogue = c
	h := New(d)
	list := get(t, h, "/threats")
	assert.Empty(t, wellFormed(list.Body.Bytes()))
	require.NotEmpty(t, c.IDs())
	for _, id := range c.IDs() {
		w := get(t, h, "/threats/"+id)
		require.Equal(t, http.StatusOK, w.Code, id)
		assert.Empty(t, wellFormed(w.Body.Bytes()), id)
		assert.Contains(t, list.Body.String(), `href="/threats/`+id+`"`)
		threat, _ := c.ByID(id)
		for i := range threat.Models {
			m := view.Model(&threat.Models[i])
			assert.NotEmpty(t, m.Source.Standing, m.ID)
			assert.NotEqual(t, "unstated", m.Source.Standing, m.ID)
		}
	}
}
