package service

import (
	"log/slog"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/store"
)

// What a neighbouring ground shares speaks where the own log is empty; what it
// does not share says nothing, and a ground of another region neither.
func TestNeighboursSpeakByConsent(t *testing.T) {
	v := newValley(t, 3)
	b := newSmall(t, v.now, v.g.Sites[0])
	svc := b.svc
	svc.o.Garden, svc.o.Catalogue, svc.o.Store, svc.o.HistoryYears = v.Garden, v.Catalogue, v.store, 3
	worm := func(site *garden.Site) *plan.Assessment {
		today := civil.Of(v.now, site.Location())
		view, err := svc.view(t.Context(), slog.New(slog.DiscardHandler), site, v.now, today, store.Quality{})
		require.NoError(t, err)
		view.seen = nil // the own log is empty
		for _, a := range view.assess() {
			if a.Model == wormModel {
				return &a
			}
		}
		t.Fatal("no assessment")
		return nil
	}
	mill, orchard, hill := &v.g.Sites[0], &v.g.Sites[1], &v.g.Sites[2]
	// The mill's runs over past years are there once it was judged.
	assert.NotContains(t, worm(mill).Reason.Text, "neighbours", "the orchard shares nothing")
	a := worm(orchard)
	assert.Contains(t, a.Reason.Text, "Your own log has no season yet. Going by what neighbours share (3 seasons)")
	require.NotNil(t, a.Outlook)
	assert.Contains(t, a.Outlook.Basis, "with 3 seasons that neighbours share")
	assert.NotContains(t, worm(hill).Reason.Text, "neighbours", "it is of no region")

	// The neighbours' finds at 230 move the orchard's threshold up from 150: the date
	// is later than the published number's.
	published := civil.Date(0)
	view, err := svc.view(t.Context(), slog.New(slog.DiscardHandler), orchard, v.now, civil.Of(v.now, orchard.Location()), store.Quality{})
	require.NoError(t, err)
	view.seen, view.neighbours = nil, nil
	for _, x := range view.assess() {
		if x.Model == wormModel {
			published = x.Outlook.P50
		}
	}
	require.False(t, published.IsZero())
	assert.Greater(t, a.Outlook.P50, published)

	// A region's log is read once a round.
	require.Len(t, svc.shared, 1)
	read := svc.shared["valley"].read
	v.now = v.now.Add(time.Minute)
	b.now = v.now
	worm(orchard)
	assert.Equal(t, read, svc.shared["valley"].read)
	b.now = v.now.Add(2 * time.Hour)
	worm(orchard)
	assert.NotEqual(t, read, svc.shared["valley"].read)
	assert.False(t, strings.Contains(a.Reason.Text, "Mill"), "whose find it was stays out")
}
