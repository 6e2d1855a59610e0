// Package ground is the garden as it lives: what the configuration file
// describes, and what people made in the browser, joined into snapshots that
// never change. A change makes the next snapshot, which shares all that stayed.
//
// What the file has is the file's: it cannot be changed here, and where both have
// the same id the file's holds.
package ground

import (
	"context"
	"fmt"
	"log/slog"
	"net/mail"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"plotwarden/garden"
	"plotwarden/store"
)

// Store keeps the versions of what people made.
type Store interface {
	// PutThing keeps a new version of a thing. expect is the Rev of the version
	// that it takes the place of, 0 for a new thing; store.ErrConflict says that
	// another was first.
	PutThing(ctx context.Context, t store.Thing, expect int64) (store.Thing, error)
	// Things returns the newest version of every thing that changed after a Rev,
	// removed ones too.
	Things(ctx context.Context, after int64) ([]store.Thing, error)
	// ThingVersions returns all versions of one thing.
	ThingVersions(ctx context.Context, kind, id string) ([]store.Thing, error)
}

// Options is what a Ground is made from.
type Options struct {
	File    *garden.Garden // what the configuration file describes; never changed
	Threats []string       // ids of the catalogue
	Store   Store
	Now     func() time.Time
	Log     *slog.Logger
	// CheckURL says what is wrong with an address that a person typed to have
	// messages posted to; nil refuses none.
	CheckURL func(address string) error
}

// Ground is the living garden. Its methods are safe for many goroutines.
type Ground struct {
	Sites     *Kept[garden.Site]
	People    *Kept[garden.Person]
	Regions   *Kept[garden.Region]
	Materials *Kept[garden.Material]

	o   Options
	now atomic.Pointer[Snapshot]

	refreshing sync.Mutex // one refresh at a time; guards seen
	seen       int64      // the last Rev that a refresh saw

	mu       sync.RWMutex
	heads    map[key]head // newest version of each thing in the store
	watchers []func([]Change)
}

type key struct{ kind, id string }

type head struct {
	rev     int64
	deleted bool
}

// Change says that a thing is another now, or gone.
type Change struct {
	Kind, ID string
	Deleted  bool
}

// Open reads what the store has and joins it with the file's.
func Open(ctx context.Context, o Options) (*Ground, error) {
	if o.Log == nil {
		o.Log = slog.Default()
	}
	g := &Ground{o: o, heads: map[key]head{}}
	g.Sites = &Kept[garden.Site]{g: g, kind: store.SiteThing, part: func(s *Snapshot) *part[garden.Site] { return &s.sites },
		id: func(s *garden.Site) *string { return &s.ID }, name: func(s *garden.Site) string { return s.Name }, check: garden.ValidateSite, moved: siteMoved}
	g.People = &Kept[garden.Person]{g: g, kind: store.PersonThing, part: func(s *Snapshot) *part[garden.Person] { return &s.people },
		id: func(p *garden.Person) *string { return &p.ID }, name: func(p *garden.Person) string { return p.Name }, check: g.checkPerson}
	g.Regions = &Kept[garden.Region]{g: g, kind: store.RegionThing, part: func(s *Snapshot) *part[garden.Region] { return &s.regions },
		id: func(r *garden.Region) *string { return &r.ID }, name: func(r *garden.Region) string { return r.Name }, check: garden.ValidateRegion}
	g.Materials = &Kept[garden.Material]{g: g, kind: store.MaterialThing, part: func(s *Snapshot) *part[garden.Material] { return &s.materials },
		id: func(m *garden.Material) *string { return &m.ID }, name: func(m *garden.Material) string { return m.Label() },
		check: func(m *garden.Material, _ garden.Around) ([]garden.Problem, []garden.Problem) {
			return garden.ValidateMaterial(m), nil
		}}
	g.now.Store(ofFile(o.File))
	if err := g.Refresh(ctx); err != nil {
		return nil, err
	}
	return g, nil
}

// Garden returns the garden as it is now. It never changes.
func (g *Ground) Garden() *garden.Garden { return g.now.Load().Garden }

// Now returns the snapshot as it is now.
func (g *Ground) Now() *Snapshot { return g.now.Load() }

// Watch calls f after each change, wherever it was made.
func (g *Ground) Watch(f func([]Change)) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.watchers = append(g.watchers, f)
}

// Refresh takes in what changed in the store since the last time. It costs one
// look at an index when nothing did.
func (g *Ground) Refresh(ctx context.Context) error {
	g.refreshing.Lock()
	list, err := g.o.Store.Things(ctx, g.seen)
	if err != nil || len(list) == 0 {
		g.refreshing.Unlock()
		if err != nil {
			return fmt.Errorf("read what changed on the ground: %w", err)
		}
		return nil
	}
	slices.SortFunc(list, func(a, b store.Thing) int { return int(a.Rev - b.Rev) })
	changes := g.apply(list)
	g.seen = list[len(list)-1].Rev
	g.refreshing.Unlock()
	g.mu.RLock()
	watchers := slices.Clone(g.watchers)
	g.mu.RUnlock()
	for _, f := range watchers {
		f(changes)
	}
	return nil
}

// Follow refreshes again and again until ctx ends, so that what another process
// changes is seen here.
func (g *Ground) Follow(ctx context.Context, every time.Duration) {
	tick := time.NewTicker(every)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			if err := g.Refresh(ctx); err != nil && ctx.Err() == nil {
				g.o.Log.Error("the ground was not refreshed", "error", err)
			}
		}
	}
}

// Rev returns the number of the newest version of a thing of the store; 0 when it
// has none.
func (g *Ground) Rev(kind, id string) int64 {
	g.mu.RLock()
	defer g.mu.RUnlock()
	return g.heads[key{kind, id}].rev
}

// ever says whether an id was ever in use.
func (g *Ground) ever(kind, id string) bool {
	g.mu.RLock()
	_, ok := g.heads[key{kind, id}]
	g.mu.RUnlock()
	return ok || g.Now().FromFile(kind, id)
}

// around is what a part is checked against. What was removed may still be named:
// a removal that is undone finds its places again.
func (g *Ground) around() garden.Around {
	s := g.Now()
	return garden.Around{
		Known: garden.Known{Threats: g.o.Threats},
		Site: func(id string) *garden.Site {
			if site := s.Site(id); site != nil || !g.ever(store.SiteThing, id) {
				return site
			}
			return &garden.Site{ID: id}
		},
		Person:    func(id string) bool { return s.Person(id) != nil || g.ever(store.PersonThing, id) },
		SiteIDs:   func() []string { return idsOf(&s.sites) },
		PersonIDs: func() []string { return idsOf(&s.people) },
	}
}

// checkPerson adds what only a service needs to know of a person.
func (g *Ground) checkPerson(p *garden.Person, a garden.Around) (problems, warnings []garden.Problem) {
	problems, warnings = garden.ValidatePerson(p, a)
	fault := func(at any, format string, args ...any) {
		problems = append(problems, garden.Problem{At: at, Message: fmt.Sprintf(format, args...)})
	}
	if p.Email != "" {
		if m, err := mail.ParseAddress(p.Email); err != nil || m.Name != "" || m.Address != p.Email {
			fault(&p.Email, "%q is not an e-mail address of the form name@example.org", p.Email)
		}
	}
	if w := &p.Webhook; w.URL != "" {
		if w.SecretFile != "" && w.SecretFile != KeptSecret {
			fault(&w.SecretFile, "the secret of a webhook is drawn here and kept in the store; a file is named in the configuration file only")
		}
		if g.o.CheckURL != nil {
			if err := g.o.CheckURL(w.URL); err != nil {
				fault(&w.URL, "%v", err)
			}
		}
	}
	return problems, warnings
}

// KeptSecret stands for a secret that the store keeps, where the configuration
// would name a file.
const KeptSecret = "store:"
