package storetest

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/store"
)

func testLog(t *testing.T, s Store) {
	ctx := t.Context()
	count, percent := 3, 12.5
	found := garden.Scouting{ID: "s2", Site: "north", Planting: "tom", Threat: "some-threat", Date: civil.New(2026, 6, 4), Finding: garden.Found, Plants: 20, Count: &count, Percent: &percent, Note: "lowest leaves"}
	none := garden.Scouting{ID: "s1", Site: "north", Planting: "tom", Threat: "some-threat", Date: civil.New(2026, 6, 5), Finding: garden.None}
	require.NoError(t, s.AddScouting(ctx, none))
	require.NoError(t, s.AddScouting(ctx, found))
	require.NoError(t, s.AddScouting(ctx, found), "the same again is no error")
	changed := found
	changed.Finding = garden.None
	assert.ErrorIs(t, s.AddScouting(ctx, changed), store.ErrConflict)
	assert.ErrorContains(t, s.AddScouting(ctx, garden.Scouting{Site: "north"}), "no id")
	assert.ErrorContains(t, s.AddScouting(ctx, garden.Scouting{ID: "s3", Site: "north", Finding: "maybe"}), "not one of")
	got, err := s.Scoutings(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, []garden.Scouting{found, none}, got)

	spray := garden.Treatment{ID: "t1", Site: "north", Planting: "tom", Threats: []string{"some-threat"}, At: t0, Material: "mine", Ingredient: "an ingredient", IntervalDays: 7}
	require.NoError(t, s.AddTreatment(ctx, spray))
	moved := spray
	moved.At = t0.In(time.FixedZone("x", 7200))
	require.NoError(t, s.AddTreatment(ctx, moved), "the same instant in another zone is the same record")
	other := spray
	other.ID, other.At = "t0", t0.Add(time.Hour)
	require.NoError(t, s.AddTreatment(ctx, other))
	sprays, err := s.Treatments(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, []garden.Treatment{spray, other}, sprays)
	sprays, err = s.Treatments(ctx, "south")
	require.NoError(t, err)
	assert.Empty(t, sprays)
}

func testSources(t *testing.T, s Store) {
	ctx := t.Context()
	bad := store.SourceStatus{Site: "north", Source: "b", LastTry: t0, LastErr: "429 slow down", Cause: "http-429", Consecutive: 2}
	good := store.SourceStatus{Site: "north", Source: "a", LastTry: t0, LastGood: t0}
	require.NoError(t, s.SetSource(ctx, bad))
	require.NoError(t, s.SetSource(ctx, good))
	got, err := s.Sources(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, []store.SourceStatus{good, bad}, got)
	assert.True(t, got[1].LastGood.IsZero())
	bad.LastErr, bad.Cause, bad.Consecutive, bad.LastGood = "", "", 0, t0
	require.NoError(t, s.SetSource(ctx, bad))
	got, err = s.Sources(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, []store.SourceStatus{good, bad}, got)
}
