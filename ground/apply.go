package ground

import (
	"encoding/json"
	"fmt"
	"maps"

	"plotwarden/garden"
	"plotwarden/store"
)

// apply makes the next snapshot of versions in order of Rev.
func (g *Ground) apply(list []store.Thing) []Change {
	last := map[key]store.Thing{}
	g.mu.Lock()
	for _, t := range list {
		k := key{t.Kind, t.ID}
		if t.Rev > g.heads[k].rev {
			g.heads[k] = head{t.Rev, t.Deleted}
			last[k] = t
		}
	}
	g.mu.Unlock()
	old := g.now.Load()
	next := *old
	next.Rev = max(old.Rev, list[len(list)-1].Rev)
	b := builder{g: g, conflicts: maps.Clone(old.conflicts), settings: old.settings}
	if b.conflicts == nil {
		b.conflicts = map[key]string{}
	}
	next.sites = build(&b, last, store.SiteThing, next.sites)
	next.people = build(&b, last, store.PersonThing, next.people)
	next.regions = build(&b, last, store.RegionThing, next.regions)
	next.materials = build(&b, last, store.MaterialThing, next.materials)
	b.setting(last)
	next.conflicts, next.settings = b.conflicts, b.settings
	next.join(old.Garden)
	g.now.Store(&next)
	out := make([]Change, 0, len(last))
	for k, t := range last {
		out = append(out, Change{k.kind, k.id, t.Deleted})
	}
	return out
}

type builder struct {
	g         *Ground
	conflicts map[key]string
	settings  map[string]json.RawMessage
}

// say keeps a conflict for the pages and logs it once.
func (b *builder) say(k key, text string) {
	if b.conflicts[k] != text {
		b.g.o.Log.Warn("not in use", "kind", k.kind, "id", k.id, "reason", text)
	}
	b.conflicts[k] = text
}

func build[T any](b *builder, last map[key]store.Thing, kind string, p part[T]) part[T] {
	sets, drops := map[string]T{}, map[string]bool{}
	for k, t := range last {
		if k.kind != kind {
			continue
		}
		delete(b.conflicts, k)
		_, file := p.file[k.id]
		switch {
		case t.Deleted && file: // what went is not in use anyway
		case t.Deleted:
			drops[k.id] = true
		case file:
			b.say(k, fmt.Sprintf("The %s %q made in the browser is not in use: the configuration file has one of the same id.", kind, k.id))
		default:
			var v T
			if err := json.Unmarshal(t.Body, &v); err != nil {
				b.say(k, fmt.Sprintf("The newest version of the %s %q cannot be read and is not in use: %v.", kind, k.id, err))
				continue
			}
			*p.id(&v) = k.id
			sets[k.id] = v
		}
	}
	if len(sets)+len(drops) == 0 {
		return p
	}
	return p.with(sets, drops)
}

func (b *builder) setting(last map[key]store.Thing) {
	cloned := false
	for k, t := range last {
		if k.kind != store.SettingThing {
			continue
		}
		if !cloned {
			b.settings, cloned = maps.Clone(b.settings), true
			if b.settings == nil {
				b.settings = map[string]json.RawMessage{}
			}
		}
		if t.Deleted {
			delete(b.settings, k.id)
		} else {
			b.settings[k.id] = t.Body
		}
	}
}

// siteMoved refuses to move a ground: its weather would be that of two places.
func siteMoved(before, after *garden.Site) []garden.Problem {
	if near(before.Latitude, after.Latitude) && near(before.Longitude, after.Longitude) {
		return nil
	}
	return []garden.Problem{{At: &after.Latitude, Message: "a ground stays where it is: the weather kept for it is that of its place; add a new ground for the other place"}}
}

// near is within some two kilometres.
func near(a, b float64) bool { return a-b < 0.02 && b-a < 0.02 }
