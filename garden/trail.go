package garden

import (
	"cmp"
	"slices"
	"time"
)

// link is what a trail needs to know of an entry of a log that is only added to.
type link struct {
	id, replaces string
	entered      time.Time
	withdrawn    bool
}

// trail tells which entries stand in the place of which.
type trail struct {
	byID map[string]int // into links
	next map[string]int // the correction of an entry that stands
	all  []link
}

func newTrail[E any](entries []E, of func(*E) link) trail {
	t := trail{make(map[string]int, len(entries)), map[string]int{}, make([]link, len(entries))}
	for i := range entries {
		l := of(&entries[i])
		t.all[i], t.byID[l.id] = l, i
		if l.replaces == "" {
			continue
		}
		was, ok := t.next[l.replaces]
		if w := &t.all[was]; !ok || l.entered.After(w.entered) || l.entered.Equal(w.entered) && l.id > w.id {
			t.next[l.replaces] = i
		}
	}
	return t
}

func (t *trail) has(id string) bool {
	_, ok := t.byID[id]
	return ok
}

// first says whether a trail begins with the entry: it corrects none, or one
// that is lost, which must not lose what corrects it.
func (t *trail) first(i int) bool { return t.all[i].replaces == "" || !t.has(t.all[i].replaces) }

// root follows corrections back to the first entry. It is empty for an unknown
// entry and for one in a ring.
func (t *trail) root(id string) string {
	for range len(t.byID) + 1 {
		i, ok := t.byID[id]
		if !ok {
			return ""
		}
		if t.first(i) {
			return id
		}
		id = t.all[i].replaces
	}
	return ""
}

// last follows corrections to the entry that stands; -1 for an unknown one.
func (t *trail) last(id string) int {
	i, ok := t.byID[id]
	if !ok {
		return -1
	}
	for range t.byID {
		n, ok := t.next[t.all[i].id]
		if !ok {
			break
		}
		i = n
	}
	return i
}

// standing returns the entries that stand, in the order of their first ones.
func standing[E any](entries []E, of func(*E) link) []E {
	t := newTrail(entries, of)
	var out []E
	for i := range entries {
		if !t.first(i) {
			continue
		}
		if last := t.last(t.all[i].id); last >= 0 && !t.all[last].withdrawn {
			out = append(out, entries[last])
		}
	}
	return out
}

// trailOf returns an entry with all that it corrects and that corrects it, the
// first entry first.
func trailOf[E any](entries []E, of func(*E) link, id string) []E {
	t := newTrail(entries, of)
	root := t.root(id)
	if root == "" {
		return nil
	}
	var at []int
	for i := range t.all {
		if t.root(t.all[i].id) == root {
			at = append(at, i)
		}
	}
	slices.SortStableFunc(at, func(a, b int) int {
		x, y := &t.all[a], &t.all[b]
		return cmp.Or(boolInt(x.id != root)-boolInt(y.id != root), x.entered.Compare(y.entered), cmp.Compare(x.id, y.id))
	})
	out := make([]E, len(at))
	for i, n := range at {
		out[i] = entries[n]
	}
	return out
}

func superseded[E any](entries []E, of func(*E) link, id string) string {
	t := newTrail(entries, of)
	last := t.last(t.root(id))
	if last < 0 || t.all[last].id == id {
		return ""
	}
	return t.all[last].id
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}
