package ground

import (
	"cmp"
	"context"
	"slices"
	"sync"

	"plotwarden/store"
)

// memory is a Store that keeps everything in memory.
type memory struct {
	mu    sync.Mutex
	rev   int64
	all   []store.Thing
	heads map[key]int // place of the newest version
	looks int
}

func newMemory() *memory { return &memory{heads: map[key]int{}} }

func (m *memory) PutThing(_ context.Context, t store.Thing, expect int64) (store.Thing, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	k := key{t.Kind, t.ID}
	var now int64
	if i, ok := m.heads[k]; ok {
		now = m.all[i].Rev
	}
	if now != expect {
		return t, store.ErrConflict
	}
	m.rev++
	t.Rev = m.rev
	m.heads[k] = len(m.all)
	m.all = append(m.all, t)
	return t, nil
}

func (m *memory) Things(_ context.Context, after int64) ([]store.Thing, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.looks++
	if m.rev == after {
		return nil, nil
	}
	var out []store.Thing
	for _, i := range m.heads {
		if m.all[i].Rev > after {
			out = append(out, m.all[i])
		}
	}
	slices.SortFunc(out, func(a, b store.Thing) int { return cmp.Compare(a.Rev, b.Rev) })
	return out, nil
}

func (m *memory) ThingVersions(_ context.Context, kind, id string) ([]store.Thing, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var out []store.Thing
	for _, t := range m.all {
		if t.Kind == kind && t.ID == id {
			out = append(out, t)
		}
	}
	return out, nil
}
