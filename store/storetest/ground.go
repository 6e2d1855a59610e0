package storetest

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/store"
)

var made = map[string]func(*testing.T, Store){
	"things have versions":                 testThings,
	"one of many writers changes a thing":  testThingWriters,
	"a reader of changes misses none":      testThingReaders,
	"records":                              testRecords,
	"treatments follow from records":       testTreatmentsOfRecords,
	"photos":                               testPhotos,
	"tunings":                              testTunings,
	"accounts":                             testAccounts,
	"one of many makes a login":            testLogins,
	"grants":                               testGrants,
	"a grant ends once":                    testGrantEndsOnce,
	"audits":                               testAudits,
	"an entry of a newer version is named": testUnknownField,
}

func thing(id string, at time.Time) store.Thing {
	return store.Thing{Kind: store.SiteThing, ID: id, Body: []byte(`{"name":"` + id + `","later":{"x":[1,2]}}`), At: at, By: "ada", Why: "new"}
}

func testThings(t *testing.T, s Store) {
	ctx := t.Context()
	north, err := s.PutThing(ctx, thing("north", t0.In(time.FixedZone("x", 3600))), 0)
	require.NoError(t, err)
	south, err := s.PutThing(ctx, thing("south", t0), 0)
	require.NoError(t, err)
	assert.Greater(t, south.Rev, north.Rev)
	assert.Equal(t, t0, north.At)
	_, err = s.PutThing(ctx, thing("north", t0), 0)
	assert.ErrorIs(t, err, store.ErrConflict, "it is there already")
	_, err = s.PutThing(ctx, thing("north", t0), south.Rev)
	assert.ErrorIs(t, err, store.ErrConflict)
	person := thing("north", t0)
	person.Kind = store.PersonThing
	person, err = s.PutThing(ctx, person, 0)
	require.NoError(t, err, "a thing of another kind may have the same id")

	moved := north
	moved.Body, moved.Why, moved.At = []byte(`{"name":"moved"}`), "mistyped", t0.Add(time.Hour)
	moved, err = s.PutThing(ctx, moved, north.Rev)
	require.NoError(t, err)
	_, err = s.PutThing(ctx, moved, north.Rev)
	assert.ErrorIs(t, err, store.ErrConflict, "somebody was quicker")

	all, err := s.Things(ctx, 0)
	require.NoError(t, err)
	assert.Equal(t, []store.Thing{south, person, moved}, all)
	gone := store.Thing{Kind: store.SiteThing, ID: "south", Deleted: true, At: t0.Add(2 * time.Hour), By: "ben"}
	gone, err = s.PutThing(ctx, gone, south.Rev)
	require.NoError(t, err)
	later, err := s.Things(ctx, moved.Rev)
	require.NoError(t, err)
	require.Len(t, later, 1)
	assert.True(t, later[0].Deleted)
	assert.Empty(t, later[0].Body)
	assert.Equal(t, gone.Rev, later[0].Rev)
	none, err := s.Things(ctx, gone.Rev)
	require.NoError(t, err)
	assert.Empty(t, none)

	versions, err := s.ThingVersions(ctx, store.SiteThing, "north")
	require.NoError(t, err)
	assert.Equal(t, []store.Thing{north, moved}, versions)
	back, err := s.PutThing(ctx, thing("south", t0.Add(3*time.Hour)), 0)
	require.NoError(t, err, "what was deleted may be made anew")
	assert.Greater(t, back.Rev, gone.Rev)
	versions, err = s.ThingVersions(ctx, store.SiteThing, "south")
	require.NoError(t, err)
	assert.Len(t, versions, 3)
	assert.Equal(t, thing("south", t0).Body, versions[0].Body, "every byte is kept, fields nobody knows too")

	for what, bad := range map[string]store.Thing{
		"kind and an id": {Kind: "site", At: t0, Body: []byte(`{}`)},
		"a time":         {Kind: "site", ID: "x", Body: []byte(`{}`)},
		"not JSON":       {Kind: "site", ID: "x", At: t0, Body: []byte(`{`)},
	} {
		_, err := s.PutThing(ctx, bad, 0)
		assert.ErrorContains(t, err, what)
		assert.ErrorContains(t, err, "save site")
	}
}

func testThingWriters(t *testing.T, s Store) {
	ctx := t.Context()
	first, err := s.PutThing(ctx, thing("north", t0), 0)
	require.NoError(t, err)
	var mu sync.Mutex
	won := 0
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			_, err := s.PutThing(ctx, thing("north", t0), first.Rev)
			if err != nil {
				assert.ErrorIs(t, err, store.ErrConflict)
				return
			}
			mu.Lock()
			won++
			mu.Unlock()
		})
	}
	wg.Wait()
	assert.Equal(t, 1, won)
}

// While many write, a reader that asks again and again for what came after the
// last it saw gets each thing.
func testThingReaders(t *testing.T, s Store) {
	ctx := t.Context()
	const writers, each = 6, 15
	var wg sync.WaitGroup
	for w := range writers {
		wg.Go(func() {
			for i := range each {
				_, err := s.PutThing(ctx, thing(fmt.Sprintf("s%d-%02d", w, i), t0), 0)
				assert.NoError(t, err)
			}
		})
	}
	done := make(chan struct{})
	go func() { wg.Wait(); close(done) }()
	seen, last := map[string]bool{}, int64(0)
	for ended := false; ; {
		list, err := s.Things(ctx, last)
		require.NoError(t, err)
		for _, x := range list {
			require.Greater(t, x.Rev, last)
			seen[x.ID], last = true, x.Rev
		}
		if ended {
			break
		}
		select {
		case <-done:
			ended = true
		default:
		}
	}
	assert.Len(t, seen, writers*each)
}

func record(id string, at time.Time) garden.Record {
	zero, x := 0, 2.5
	return garden.Record{ID: id, Site: "north", Planting: "tom", Start: at, Entered: at.Add(time.Hour), By: "ada", Product: "the blue bottle", Threats: []string{"some-threat"},
		Amount: &x, AmountUnit: "g", Label: garden.LabelValues{PreHarvestDays: &zero, IntervalDays: 7}, Weather: &garden.HourWeather{Temp: &x}, Reason: garden.ByModel, Photos: []string{"p1"}}
}

func testRecords(t *testing.T, s Store) {
	ctx := t.Context()
	late, early, same := record("b", t0.Add(time.Hour)), record("c", t0), record("a", t0.Add(time.Hour))
	for _, r := range []garden.Record{late, early, same, late} {
		require.NoError(t, s.AddRecord(ctx, r), "the same again is no error")
	}
	zoned := late
	zoned.Start = zoned.Start.In(time.FixedZone("x", 7200))
	require.NoError(t, s.AddRecord(ctx, zoned), "the same instant in another zone is the same record")
	got, err := s.Records(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, []garden.Record{early, same, late}, got)
	changed := late
	changed.Note = "more"
	assert.ErrorIs(t, s.AddRecord(ctx, changed), store.ErrConflict)
	other := late
	other.Site = "south"
	assert.ErrorIs(t, s.AddRecord(ctx, other), store.ErrConflict, "ids are of all sites")
	assert.ErrorContains(t, s.AddRecord(ctx, garden.Record{Site: "north"}), "no id")
	assert.ErrorContains(t, s.AddRecord(ctx, garden.Record{ID: "x", Reason: "mood"}), "log record x")
	none, err := s.Records(ctx, "south")
	require.NoError(t, err)
	assert.Empty(t, none)
}

func testTreatmentsOfRecords(t *testing.T, s Store) {
	ctx := t.Context()
	plain := garden.Treatment{ID: "t1", Site: "north", Planting: "tom", At: t0.Add(time.Hour), Material: "mine"}
	wrong := garden.Treatment{ID: "t2", Site: "north", Planting: "tom", At: t0.Add(2 * time.Hour), Material: "mine"}
	require.NoError(t, s.AddTreatment(ctx, plain))
	require.NoError(t, s.AddTreatment(ctx, wrong))
	first, second, gone := record("r1", t0), record("r2", t0.Add(3*time.Hour)), record("r3", t0.Add(2*time.Hour))
	second.Replaces, second.Why = "r1", "another day"
	gone.Replaces, gone.Why, gone.Withdrawn = "t2", "not done", true
	require.NoError(t, s.AddRecord(ctx, first))
	done, err := s.Treatments(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, []garden.Treatment{first.Treatment(), plain, wrong}, done)
	require.NoError(t, s.AddRecord(ctx, second))
	require.NoError(t, s.AddRecord(ctx, gone))
	done, err = s.Treatments(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, []garden.Treatment{plain, second.Treatment()}, done)
	assert.Equal(t, 7, done[1].IntervalDays)
	asLogged, err := s.PlainTreatments(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, []garden.Treatment{plain, wrong}, asLogged)
	require.NoError(t, s.AddScouting(ctx, garden.Scouting{ID: "s", Site: "Elsewhere", Finding: garden.None}))
	sites, err := s.LogSites(ctx)
	require.NoError(t, err)
	assert.Equal(t, []string{"Elsewhere", "north"}, sites)
	done, err = s.Treatments(ctx, "south")
	require.NoError(t, err)
	assert.Empty(t, done)
}

func testPhotos(t *testing.T, s Store) {
	ctx := t.Context()
	photo := func(id string, at time.Time) store.Photo {
		return store.Photo{ID: id, Site: "north", By: "ada", At: at, Type: "image/jpeg", Body: []byte("picture\x00 " + id), Width: 640, High: 480}
	}
	a, b := photo("a", t0.Add(time.Hour)), photo("b", t0)
	for _, p := range []store.Photo{a, b, a} {
		require.NoError(t, s.AddPhoto(ctx, p))
	}
	got, err := s.Photo(ctx, "a")
	require.NoError(t, err)
	assert.Equal(t, a, got)
	list, err := s.Photos(ctx, "north")
	require.NoError(t, err)
	a.Body, b.Body = nil, nil
	assert.Equal(t, []store.Photo{b, a}, list, "without bodies, in order of time")
	_, err = s.Photo(ctx, "none")
	assert.ErrorIs(t, err, store.ErrNotFound)
	assert.ErrorContains(t, err, "photo none")
	other := photo("a", t0.Add(time.Hour))
	other.Body = []byte("another")
	assert.ErrorIs(t, s.AddPhoto(ctx, other), store.ErrConflict)
	other = photo("a", t0.Add(time.Hour))
	other.Site = "south"
	assert.ErrorIs(t, s.AddPhoto(ctx, other), store.ErrConflict)
	assert.ErrorContains(t, s.AddPhoto(ctx, store.Photo{ID: "c", Site: "north"}), "body")
}

func testTunings(t *testing.T, s Store) {
	ctx := t.Context()
	tune := func(id, region string, at time.Time) store.Tuning {
		return store.Tuning{ID: id, Region: region, Body: []byte("signed " + id), At: at, By: "ada"}
	}
	first, second, other := tune("b", "valley", t0), tune("a", "valley", t0), tune("c", "hills", t0.Add(-time.Hour))
	undo := tune("d", "valley", t0.Add(time.Hour))
	undo.Undoes = "b"
	for _, x := range []store.Tuning{first, second, other, undo, first} {
		require.NoError(t, s.AddTuning(ctx, x))
	}
	got, err := s.Tunings(ctx, "valley")
	require.NoError(t, err)
	assert.Equal(t, []store.Tuning{second, first, undo}, got)
	got, err = s.Tunings(ctx, "")
	require.NoError(t, err)
	assert.Equal(t, []store.Tuning{other, second, first, undo}, got)
	first.Body = []byte("other")
	assert.ErrorIs(t, s.AddTuning(ctx, first), store.ErrConflict)
	assert.ErrorContains(t, s.AddTuning(ctx, store.Tuning{ID: "e", Region: "valley"}), "body")
}

// Spoiler is an engine that lets a test write a record's body as another version
// of the program might have.
type Spoiler interface {
	SpoilRecord(ctx context.Context, id, body string) error
}

func testUnknownField(t *testing.T, s Store) {
	spoil, ok := s.(Spoiler)
	if !ok {
		t.Skip("this engine's test has no way to write a foreign body")
	}
	ctx := t.Context()
	r := record("a", t0)
	require.NoError(t, s.AddRecord(ctx, r))
	require.NoError(t, spoil.SpoilRecord(ctx, "a", `{"id":"a","site":"north","planting":"tom","start":"2026-06-04T10:00:00Z","depth":3}`))
	_, err := s.Records(ctx, "north")
	require.ErrorContains(t, err, `"depth"`)
	assert.ErrorContains(t, err, "load records of north")
	err = s.AddRecord(ctx, r)
	assert.ErrorIs(t, err, store.ErrConflict)
	assert.True(t, strings.Contains(err.Error(), "depth"), err.Error())
}
