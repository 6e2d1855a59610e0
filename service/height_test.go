package service

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/weather"
)

// asked is a source that remembers for what height it was asked.
type asked struct {
	gridSource
	heights *[]garden.Metres
}

func (a asked) Name() string { return "asked" }
func (a asked) Fetch(_ context.Context, site *garden.Site, now time.Time) (Answer, error) {
	*a.heights = append(*a.heights, site.Elevation)
	return Answer{Series: run(now.Truncate(time.Hour), 48, weather.Origin{Source: "asked", Kind: weather.Forecast, Fetched: now}, truth)}, nil
}

// A site without a height gets that of the grid that answered, for other services and
// on the page; one that gives its own keeps it.
func TestTheGridsHeightStandsIn(t *testing.T) {
	b := newBench(t)
	b.oneBed()
	var heights []garden.Metres
	b.svc.SetSources(append(b.svc.sources(), asked{heights: &heights}))
	b.round(t)
	b.now = b.now.Add(time.Hour)
	b.round(t)
	assert.Equal(t, []garden.Metres{0, 100}, heights, "the fault server's grid lies at 100 m; at first it is not known")
	assert.Equal(t, 100.0, *b.openMeteo(t).Elevation)
	assert.Contains(t, b.page(t), "100 m above the sea, from the grid: the site gives none")
	site := &b.svc.o.Garden().Sites[0]
	assert.Zero(t, site.Elevation, "the garden is not changed")

	own := *site
	own.Elevation = 7
	require.Equal(t, &own, b.svc.withHeight(t.Context(), b.svc.o.Log, &own))
}
