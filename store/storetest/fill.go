package storetest

import (
	"errors"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/store"
	"plotwarden/store/engine"
	"plotwarden/weather"
)

// Fill puts something into every table of a store but set_aside, which only damage
// fills.
func Fill(t testing.TB, s Store) {
	t.Helper()
	ctx := t.Context()
	h := series(t0.Add(-48*time.Hour), 24*20, func(i int) float64 { return float64(i)/10 + 0.25 }, weather.Forecast, t0)
	reject := weather.Reject{Time: t0, Var: weather.Wind, Value: 1e300, Origin: weather.Origin{Source: "a", Kind: weather.Forecast}, Fault: weather.FaultRange, Reason: "above <150> \u00fc"}
	for _, site := range []string{"north", "süd", "Zed"} {
		failed, err := s.SaveFetched(ctx, []store.Fetched{
			{Site: site, Source: "a", At: t0, Hours: h, Ahead: h, Rejects: []weather.Reject{reject}, Elevation: ref(312.5)},
			{Site: site, Source: "b", At: t0, Cause: "http-429", Failure: "slow \"down\"\n\t"},
		})
		require.NoError(t, errors.Join(append(failed, err)...))
		require.NoError(t, s.SaveDays(ctx, site, []weather.Day{{Date: civil.New(2025, 12, 31), Min: -2, Max: 3, Rain: math.NaN(), Soil: math.NaN(), Hours: 24, Kind: weather.Nearby}}))
		m := message(site+"/1", t0)
		m.Site = site
		require.NoError(t, s.SaveRound(ctx, store.Round{Site: site, At: t0, Messages: []store.Message{m}, Assessments: []plan.Assessment{func() plan.Assessment {
			a := assessment("tom", t0, plan.Act)
			a.Site = site
			return a
		}()}}))
		require.NoError(t, s.SaveQuality(ctx, store.Quality{Site: site, At: t0}))
		require.NoError(t, s.Choose(ctx, store.Choice{Person: "ada", Site: site, Kind: store.ChoseMute, At: t0, Until: civil.New(2026, 6, 30)}))
	}
	_, err := s.Begin(ctx, "north/1", t0)
	require.NoError(t, err)
	require.NoError(t, s.Sent(ctx, "north/1", t0.Add(time.Second)))
	require.NoError(t, s.SaveEnsembles(ctx, []store.Ensemble{{Site: "north", Source: "a", At: t0, Members: []*weather.Series{h}}}))
	require.NoError(t, s.ClaimSlot(ctx, "job", t0))
	require.NoError(t, s.AddScouting(ctx, garden.Scouting{ID: "s1", Site: "north", Planting: "tom", Threat: "some-threat", Date: civil.New(2026, 6, 5), Finding: garden.None, Note: "a\u0000b"}))
	require.NoError(t, s.AddTreatment(ctx, garden.Treatment{ID: "t1", Site: "north", At: t0, Material: "mine"}))
	require.NoError(t, s.AddRecord(ctx, record("r1", t0)))
	require.NoError(t, s.Subscribe(ctx, store.Subscription{Person: "ada", ID: "b", Body: []byte(`{"x":1}`), Added: t0}))
	require.NoError(t, s.Keep(ctx, "secret", []byte{0, 255, 13, 10}))
	require.NoError(t, s.Keep(ctx, "empty", nil))
	site, err := s.PutThing(ctx, thing("north", t0), 0)
	require.NoError(t, err)
	site.Deleted, site.Body = true, nil
	_, err = s.PutThing(ctx, site, site.Rev)
	require.NoError(t, err)
	_, err = s.PutAccount(ctx, account("ada"))
	require.NoError(t, err)
	require.NoError(t, s.AddGrant(ctx, grant("g", store.ShareGrant, "ada", "north")))
	require.NoError(t, s.AddAudit(ctx, store.Audit{At: t0, Did: "signed-in"}))
	require.NoError(t, s.AddAudit(ctx, store.Audit{At: t0, Did: "signed-out"}))
	require.NoError(t, s.AddPhoto(ctx, store.Photo{ID: "p", Site: "north", At: t0, Type: "image/jpeg", Body: []byte{0xff, 0xd8, 0}, Width: 1, High: 1}))
	require.NoError(t, s.AddTuning(ctx, store.Tuning{ID: "t", Region: "valley", Body: []byte("x"), At: t0}))
}

// KeepsOn checks that a store which was filled from another goes on where that one
// stood: numbers grow, keys hold.
func KeepsOn(t testing.TB, s Store) {
	t.Helper()
	ctx := t.Context()
	_, err := s.Begin(ctx, "north/1", t0.Add(time.Hour))
	assert.ErrorIs(t, err, store.ErrTaken, "what was sent is not sent again")
	assert.ErrorIs(t, s.ClaimSlot(ctx, "job", t0), store.ErrTaken)
	things, err := s.Things(ctx, 0)
	require.NoError(t, err)
	require.Len(t, things, 1)
	next, err := s.PutThing(ctx, thing("new", t0), 0)
	require.NoError(t, err)
	assert.Greater(t, next.Rev, things[0].Rev)
	before, err := s.Audits(ctx, 0, 1)
	require.NoError(t, err)
	require.NoError(t, s.AddAudit(ctx, store.Audit{At: t0, Did: "went-on"}))
	after, err := s.Audits(ctx, 0, 1)
	require.NoError(t, err)
	assert.Greater(t, after[0].ID, before[0].ID)
	got, err := s.LoadWeather(ctx, "süd", t0, t0.Add(time.Hour))
	require.NoError(t, err)
	assert.Equal(t, 5.05, got.Value(weather.Temp, 0))
	e, err := s.Ensemble(ctx, "north")
	require.NoError(t, err)
	require.NoError(t, s.SaveEnsembles(ctx, []store.Ensemble{{Site: "new", Source: "a", At: t0, Members: []*weather.Series{got}}, {Site: "north", Source: "b", At: t0, Members: e.Members}}))
}

// TablesAreKnown checks that engine.Tables has what an engine has: columns maps each
// table that it has to its columns, in any order. Tables of libraries are left out.
func TablesAreKnown(t testing.TB, columns map[string][]string) {
	t.Helper()
	known := map[string]bool{}
	for _, x := range engine.Tables {
		known[x.Name] = true
		assert.ElementsMatch(t, x.Names(), columns[x.Name], "columns of %s", x.Name)
	}
	for name := range columns {
		assert.True(t, known[name], "table %s is not in engine.Tables: backups would lack it", name)
	}
}
