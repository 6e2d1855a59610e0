package main

import (
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/risk"
	"plotwarden/risk/catalog"
)

func TestModelsListsTheWholeCatalogueWithSources(t *testing.T) {
	cat, err := catalog.Load()
	require.NoError(t, err)
	text := plotwarden(t, "", "models")
	require.Equal(t, 0, text.code, text.err)
	table := plotwarden(t, "", "models", "--csv")
	require.Equal(t, 0, table.code, table.err)
	rows, err := csv.NewReader(strings.NewReader(table.out)).ReadAll()
	require.NoError(t, err)
	byModel := map[string][]string{}
	for _, r := range rows[1:] {
		byModel[r[1]] = r
	}
	assert.Len(t, rows[1:], len(cat.ModelIDs()))
	for i := range cat.Threats {
		threat := &cat.Threats[i]
		assert.Contains(t, text.out, threat.ID+": "+threat.Name)
		if len(threat.Models) == 0 {
			assert.Contains(t, text.out, "log only: "+threat.LogOnly)
		}
		for _, m := range threat.Models {
			assert.Contains(t, text.out, "source: "+catalog.Cite(m.Source), m.ID)
			r := byModel[m.ID]
			require.Len(t, r, 12, m.ID)
			assert.Equal(t, m.Source.Text, r[8])
			var s risk.Standing
			assert.NoError(t, s.UnmarshalText([]byte(r[9])), m.ID)
		}
	}
}

func TestModelsOfOne(t *testing.T) {
	threat := plotwarden(t, "", "models", "late-blight")
	model := plotwarden(t, "", "models", "late-blight/hutton-2017")
	assert.Equal(t, 0, threat.code, threat.err)
	assert.Equal(t, 0, model.code, model.err)
	assert.Contains(t, threat.out, "late-blight/smith-1956")
	assert.NotContains(t, model.out, "late-blight/smith-1956")
	assert.Contains(t, model.out, "2 days in a row")
}

func TestModelsOfAnOwnFolder(t *testing.T) {
	got := plotwarden(t, "", "models", "--catalogue", t.TempDir(), "late-blight")
	assert.Equal(t, 0, got.code, got.err)
	got = plotwarden(t, "", "models", "--catalogue", "badmodels")
	assert.Equal(t, 2, got.code)
	assert.Contains(t, got.err, "badmodels/slug.yaml:2:1: key \"latn\" is not known; did you mean \"latin\"?\n")
}
