package ground

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/store"
)

var noon = time.Date(2026, 5, 3, 12, 0, 0, 0, time.UTC)

var wren = By{Person: "wren", Why: "a test"}

func open(t testing.TB, st Store, file *garden.Garden) (*Ground, *bytes.Buffer) {
	t.Helper()
	log := &bytes.Buffer{}
	g, err := Open(t.Context(), Options{File: file, Threats: []string{"late-blight"}, Store: st, Now: func() time.Time { return noon }, Log: slog.New(slog.NewTextHandler(log, nil)),
		CheckURL: func(a string) error {
			if strings.Contains(a, "127.") {
				return errors.New("it lies in the own network")
			}
			return nil
		}})
	require.NoError(t, err)
	return g, log
}

func site(name string) garden.Site {
	return garden.Site{Name: name, Latitude: 40.6, Longitude: -73.8, Zone: "America/New_York",
		Plots: []garden.Plot{{ID: "a", Name: "Bed A", Plantings: []garden.Planting{{ID: "kale", Crop: "kale", Sown: civil.New(2026, 3, 1)}}}}}
}

func fileGarden() *garden.Garden {
	s := site("Written")
	s.ID = "written"
	return &garden.Garden{Sites: []garden.Site{s}, People: []garden.Person{{ID: "ash", Name: "Ash"}}}
}

func TestWhatTheFileHasIsTheFiles(t *testing.T) {
	st := newMemory()
	g, _ := open(t, st, nil)
	s := site("Elsewhere")
	s.ID = "written"
	_, err := g.Sites.Add(t.Context(), wren, s)
	require.NoError(t, err)
	assert.Empty(t, g.Now().Conflicts())

	// The same store with a file that has the id: the file's holds and it is said.
	f, log := open(t, st, fileGarden())
	assert.Equal(t, "Written", f.Now().Site("written").Name)
	assert.Len(t, f.Garden().Sites, 1)
	require.Len(t, f.Now().Conflicts(), 1)
	assert.Contains(t, f.Now().Conflicts()[0], `site "written"`)
	assert.Equal(t, 1, strings.Count(log.String(), `msg="not in use"`))
	assert.True(t, f.Now().FromFile(store.SiteThing, "written"))
	assert.True(t, f.Now().FromFile(store.PersonThing, "ash"))
	assert.False(t, f.Now().FromFile(store.PersonThing, "written"))

	none := func(*garden.Site) error { t.Error("called"); return nil }
	require.ErrorIs(t, f.Sites.Change(t.Context(), wren, "written", none), ErrFile)
	require.ErrorIs(t, f.Sites.Remove(t.Context(), wren, "written"), ErrFile)
	require.ErrorIs(t, f.Sites.Restore(t.Context(), wren, "written", 1), ErrFile)
	// Without the file again what was made is still there.
	again, _ := open(t, st, nil)
	assert.Equal(t, "Elsewhere", again.Now().Site("written").Name)
}

func TestChangesWithErrorsByField(t *testing.T) {
	g, _ := open(t, newMemory(), fileGarden())
	s := site("Mill Lane")
	s.Zone = ""
	s.Plots[0].Plantings[0].Crop = "kalee"
	_, err := g.Sites.Add(t.Context(), wren, s)
	var no *Refused
	require.ErrorAs(t, err, &no)
	assert.Contains(t, no.Of("zone"), "IANA")
	assert.Contains(t, no.Of("plots[0].plantings[0].crop"), `did you mean "kale"`)
	assert.Empty(t, no.Of("name"))
	assert.Len(t, g.Garden().Sites, 1, "nothing was kept")

	s = site("Mill Lane")
	s.Plots[0].Grower = "ash" // of the file
	made, err := g.Sites.Add(t.Context(), wren, s)
	require.NoError(t, err)
	assert.Equal(t, "mill-lane", made.ID)
	second, err := g.Sites.Add(t.Context(), wren, site("Mill Lane"))
	require.NoError(t, err)
	assert.Equal(t, "mill-lane-2", second.ID)
	require.NoError(t, g.Sites.Remove(t.Context(), wren, "mill-lane-2"))
	third, err := g.Sites.Add(t.Context(), wren, site("Mill Lane"))
	require.NoError(t, err)
	assert.Equal(t, "mill-lane-3", third.ID, "an id is never used again: its weather and log are kept under it")

	err = g.Sites.Change(t.Context(), wren, "mill-lane", func(s *garden.Site) error { s.Latitude = 51; return nil })
	require.ErrorAs(t, err, &no)
	assert.Contains(t, no.Of("latitude"), "stays where it is")
	require.NoError(t, g.Sites.Change(t.Context(), wren, "mill-lane", func(s *garden.Site) error { s.Latitude += 0.001; return nil }))

	boom := errors.New("boom")
	require.ErrorIs(t, g.Sites.Change(t.Context(), wren, "mill-lane", func(*garden.Site) error { return boom }), boom)
	require.ErrorIs(t, g.Sites.Change(t.Context(), wren, "nowhere", func(*garden.Site) error { return nil }), store.ErrNotFound)

	rev := g.Now().Rev
	require.NoError(t, g.Sites.Change(t.Context(), wren, "mill-lane", func(*garden.Site) error { return nil }))
	assert.Equal(t, rev, g.Now().Rev, "what changes nothing makes no version")
}

func TestPeople(t *testing.T) {
	g, _ := open(t, newMemory(), fileGarden())
	var no *Refused
	for field, p := range map[string]garden.Person{
		"email":              {Name: "Elm", Email: "Elm <elm@example.org>"},
		"sites[0]":           {Name: "Elm", Sites: []string{"writen"}},
		"webhook.url":        {Name: "Elm", Webhook: garden.Webhook{URL: "http://127.0.0.1/x", SecretFile: KeptSecret}},
		"webhook.secretFile": {Name: "Elm", Webhook: garden.Webhook{URL: "https://example.org/x", SecretFile: "/etc/hostname"}},
	} {
		_, err := g.People.Add(t.Context(), wren, p)
		require.ErrorAs(t, err, &no, field)
		assert.NotEmpty(t, no.Of(field), "%v", no.Faults)
	}
	_, err := g.People.Add(t.Context(), wren, garden.Person{Name: "Élodie O'Hara", Email: "e@example.org", Sites: []string{"written"}, Webhook: garden.Webhook{URL: "https://example.org/x", SecretFile: KeptSecret}})
	require.NoError(t, err)
	assert.NotNil(t, g.Now().Person("elodie-ohara"))
}

func TestUndoAndVersions(t *testing.T) {
	g, _ := open(t, newMemory(), nil)
	s, err := g.Sites.Add(t.Context(), wren, site("Mill Lane"))
	require.NoError(t, err)
	require.NoError(t, g.Sites.Change(t.Context(), By{"ash", "renamed"}, s.ID, func(s *garden.Site) error { s.Name = "Mill Road"; return nil }))
	require.NoError(t, g.Sites.Remove(t.Context(), wren, s.ID))
	assert.Nil(t, g.Now().Site(s.ID))
	v, err := g.Sites.Versions(t.Context(), s.ID)
	require.NoError(t, err)
	require.Len(t, v, 3)
	assert.Equal(t, "Mill Lane", v[0].Value.Name)
	assert.Equal(t, "renamed", v[1].Why)
	assert.Nil(t, v[2].Value)
	require.NoError(t, g.Sites.Restore(t.Context(), wren, s.ID, v[1].Rev))
	assert.Equal(t, "Mill Road", g.Now().Site(s.ID).Name)
	require.NoError(t, g.Sites.Restore(t.Context(), wren, s.ID, v[0].Rev))
	assert.Equal(t, "Mill Lane", g.Now().Site(s.ID).Name)
	require.NoError(t, g.Sites.Restore(t.Context(), wren, s.ID, 0))
	assert.Nil(t, g.Now().Site(s.ID))
	require.ErrorIs(t, g.Sites.Restore(t.Context(), wren, s.ID, 999), store.ErrNotFound)
}

// What names a thing that was removed stands, and can still be changed.
func TestWhatWasRemovedMayStillBeNamed(t *testing.T) {
	g, _ := open(t, newMemory(), nil)
	s, err := g.Sites.Add(t.Context(), wren, site("Mill Lane"))
	require.NoError(t, err)
	p, err := g.People.Add(t.Context(), wren, garden.Person{Name: "Elm", Email: "e@example.org", Sites: []string{s.ID}})
	require.NoError(t, err)
	require.NoError(t, g.Sites.Remove(t.Context(), wren, s.ID))
	require.NoError(t, g.People.Change(t.Context(), wren, p.ID, func(p *garden.Person) error { p.Units = garden.US; return nil }))
}

// Two processes on one store see each other's changes, and none is lost.
func TestTwoProcesses(t *testing.T) {
	st := newMemory()
	a, _ := open(t, st, nil)
	b, _ := open(t, st, nil)
	var mu sync.Mutex
	var told []Change
	b.Watch(func(c []Change) {
		mu.Lock()
		defer mu.Unlock()
		told = append(told, c...)
	})
	s, err := a.Sites.Add(t.Context(), wren, site("Mill Lane"))
	require.NoError(t, err)
	assert.Nil(t, b.Now().Site(s.ID))
	require.NoError(t, b.Refresh(t.Context()))
	assert.NotNil(t, b.Now().Site(s.ID))
	assert.Equal(t, []Change{{store.SiteThing, s.ID, false}}, told)

	errs := make(chan error, 8)
	for i := range 8 {
		g := []*Ground{a, b}[i%2]
		go func() {
			var err error
			for try := 0; try < 20; try++ { // more hands than tries
				err = g.Sites.Change(t.Context(), wren, s.ID, func(s *garden.Site) error {
					s.Plots = append(s.Plots, garden.Plot{ID: fmt.Sprintf("plot-%d", i)})
					return nil
				})
				if !errors.Is(err, store.ErrConflict) {
					break
				}
			}
			errs <- err
		}()
	}
	for range 8 {
		require.NoError(t, <-errs)
	}
	require.NoError(t, a.Refresh(t.Context()))
	require.NoError(t, b.Refresh(t.Context()))
	assert.Len(t, a.Now().Site(s.ID).Plots, 9)
	assert.Equal(t, a.Garden(), b.Garden())
}

func TestSettings(t *testing.T) {
	g, _ := open(t, newMemory(), nil)
	type mail struct{ Host string }
	var got mail
	ok, err := g.Now().Setting("mail", &got)
	require.NoError(t, err)
	assert.False(t, ok)
	before := g.Now()
	require.NoError(t, g.PutSetting(t.Context(), wren, "mail", mail{"mail.example.org"}))
	require.NoError(t, g.PutSetting(t.Context(), wren, "station/shed", 1))
	ok, err = g.Now().Setting("mail", &got)
	require.NoError(t, err)
	assert.True(t, ok)
	assert.Equal(t, "mail.example.org", got.Host)
	assert.Equal(t, []string{"station/shed"}, g.Now().Settings("station/"))
	ok, _ = before.Setting("mail", &got)
	assert.False(t, ok, "the snapshot before is as it was")
	require.NoError(t, g.DropSetting(t.Context(), wren, "mail"))
	ok, _ = g.Now().Setting("mail", &got)
	assert.False(t, ok)
	require.NoError(t, g.DropSetting(t.Context(), wren, "mail"))
}

// A version that cannot be read is said and does not take the last good one away.
func TestABrokenVersionIsSaid(t *testing.T) {
	st := newMemory()
	g, _ := open(t, st, nil)
	s, err := g.Sites.Add(t.Context(), wren, site("Mill Lane"))
	require.NoError(t, err)
	_, err = st.PutThing(t.Context(), store.Thing{Kind: store.SiteThing, ID: s.ID, Body: []byte(`{"zone": 5}`)}, 1)
	require.NoError(t, err)
	require.NoError(t, g.Refresh(t.Context()))
	assert.Equal(t, "Mill Lane", g.Now().Site(s.ID).Name)
	require.Len(t, g.Now().Conflicts(), 1)
	assert.Contains(t, g.Now().Conflicts()[0], "cannot be read")
	require.NoError(t, g.Sites.Restore(t.Context(), wren, s.ID, 1))
	assert.Empty(t, g.Now().Conflicts())
}

// Whatever is done, the ground has what a plain map would have, in one order, and
// snapshots that were taken before stay as they were.
func TestSnapshotsNeverChange(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		st := newMemory()
		g, _ := open(t, st, fileGarden())
		want := map[string]string{"written": "Written"}
		type kept struct {
			s    *Snapshot
			text string
		}
		var before []kept
		for range rapid.IntRange(1, 25).Draw(r, "steps") {
			text, err := json.Marshal(g.Garden())
			require.NoError(r, err)
			before = append(before, kept{g.Now(), string(text)})
			name := rapid.SampledFrom([]string{"Ash", "Birch", "Cedar", "Dogwood"}).Draw(r, "name")
			ids := slices.Sorted(maps.Keys(want))
			id := rapid.SampledFrom(ids).Draw(r, "id")
			switch rapid.IntRange(0, 2).Draw(r, "what") {
			case 0:
				s, err := g.Sites.Add(t.Context(), wren, site(name))
				require.NoError(r, err)
				want[s.ID] = name
			case 1:
				err := g.Sites.Change(t.Context(), wren, id, func(s *garden.Site) error { s.Name = name; return nil })
				if id == "written" {
					require.ErrorIs(r, err, ErrFile)
					continue
				}
				require.NoError(r, err)
				want[id] = name
			case 2:
				if id != "written" {
					require.NoError(r, g.Sites.Remove(t.Context(), wren, id))
					delete(want, id)
				}
			}
		}
		other, _ := open(t, st, fileGarden())
		for _, g := range []*Ground{g, other} {
			require.Len(r, g.Garden().Sites, len(want))
			for id, name := range want {
				require.Equal(r, name, g.Now().Site(id).Name)
			}
		}
		require.Equal(r, g.Garden(), other.Garden(), "the same order in every process")
		for _, b := range before {
			text, err := json.Marshal(b.s.Garden)
			require.NoError(r, err)
			require.Equal(r, b.text, string(text))
		}
	})
}

func TestNewID(t *testing.T) {
	none := func(string) bool { return false }
	for name, want := range map[string]string{
		"Mill Lane": "mill-lane", "  Año Nuevo! ": "ano-nuevo", "St. John's": "st-johns", "园": "site", "": "site", "--A--": "a", "Bed 12": "bed-12",
		strings.Repeat("long ", 30): "long-long-long-long-long-long-long-long-long-lon",
	} {
		assert.Equal(t, want, NewID(name, "site", none), name)
	}
	rapid.Check(t, func(r *rapid.T) {
		id := NewID(rapid.String().Draw(r, "name"), "site", func(id string) bool { return !strings.HasSuffix(id, "-3") })
		s := garden.Site{ID: id, Latitude: 1, Zone: "UTC"}
		problems, _ := garden.ValidateSite(&s, garden.Around{})
		require.Empty(r, problems, id)
	})
}
