package ground

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"plotwarden/garden"
	"plotwarden/store"
)

// Snapshot is the whole ground at one moment. It never changes, and shares with
// the snapshots before and after it whatever is the same in both.
type Snapshot struct {
	Garden *garden.Garden
	Rev    int64 // of the newest change in it

	sites     part[garden.Site]
	people    part[garden.Person]
	regions   part[garden.Region]
	materials part[garden.Material]
	settings  map[string]json.RawMessage
	conflicts map[key]string
}

// Site returns a site, nil when there is none. It is shared and must not be
// changed.
func (s *Snapshot) Site(id string) *garden.Site { return s.sites.get(id) }

// Person is Site for a person.
func (s *Snapshot) Person(id string) *garden.Person { return s.people.get(id) }

// Region is Site for a region.
func (s *Snapshot) Region(id string) *garden.Region { return s.regions.get(id) }

// Material is Site for a material.
func (s *Snapshot) Material(id string) *garden.Material { return s.materials.get(id) }

// FromFile says whether a thing is set in the configuration file.
func (s *Snapshot) FromFile(kind, id string) bool {
	var ok bool
	switch kind {
	case store.SiteThing:
		_, ok = s.sites.file[id]
	case store.PersonThing:
		_, ok = s.people.file[id]
	case store.RegionThing:
		_, ok = s.regions.file[id]
	case store.MaterialThing:
		_, ok = s.materials.file[id]
	}
	return ok
}

// Setting reads a setting into out. It is false when the setting was never made.
func (s *Snapshot) Setting(name string, out any) (bool, error) {
	b, ok := s.settings[name]
	if !ok {
		return false, nil
	}
	if err := json.Unmarshal(b, out); err != nil {
		return false, fmt.Errorf("read the setting %s: %w", name, err)
	}
	return true, nil
}

// Settings returns the names of the settings that begin with a text, in order.
func (s *Snapshot) Settings(prefix string) []string {
	var out []string
	for name := range s.settings {
		if len(name) >= len(prefix) && name[:len(prefix)] == prefix {
			out = append(out, name)
		}
	}
	slices.Sort(out)
	return out
}

// Conflicts says, a sentence each, what people made that is not in use, and why.
func (s *Snapshot) Conflicts() []string {
	return slices.Sorted(maps.Values(s.conflicts))
}

// part is the things of one kind: first those of the file in its order, then the
// others in order of id, which is the same in every process.
type part[T any] struct {
	all  []T
	file map[string]int // ids of the file's things, to their place
	id   func(*T) *string
}

func partOf[T any](file []T, id func(*T) *string) part[T] {
	p := part[T]{all: slices.Clip(file), file: make(map[string]int, len(file)), id: id}
	for i := range file {
		p.file[*id(&file[i])] = i
	}
	return p
}

// place returns where a thing is, or where it would be.
func (p *part[T]) place(id string) (int, bool) {
	if i, ok := p.file[id]; ok {
		return i, true
	}
	n := len(p.file)
	i, ok := slices.BinarySearchFunc(p.all[n:], id, func(x T, id string) int { return cmp.Compare(*p.id(&x), id) })
	return n + i, ok
}

func (p *part[T]) get(id string) *T {
	if i, ok := p.place(id); ok {
		return &p.all[i]
	}
	return nil
}

// with returns the part with some things set and others left out. It copies the
// things themselves, but nothing that they hold.
func (p *part[T]) with(sets map[string]T, drops map[string]bool) part[T] {
	out := *p
	fresh := false
	for id := range sets {
		if _, ok := p.place(id); !ok {
			fresh = true
		}
	}
	if !fresh && len(drops) == 0 {
		out.all = slices.Clone(p.all)
		for id, v := range sets {
			i, _ := p.place(id)
			out.all[i] = v
		}
		return out
	}
	n := len(p.file)
	out.all = make([]T, n, len(p.all)+len(sets))
	copy(out.all, p.all[:n])
	for i := n; i < len(p.all); i++ {
		id := *p.id(&p.all[i])
		if _, again := sets[id]; !again && !drops[id] {
			out.all = append(out.all, p.all[i])
		}
	}
	for _, v := range sets {
		out.all = append(out.all, v)
	}
	slices.SortFunc(out.all[n:], func(a, b T) int { return cmp.Compare(*p.id(&a), *p.id(&b)) })
	return out
}

func idsOf[T any](p *part[T]) []string {
	out := make([]string, len(p.all))
	for i := range p.all {
		out[i] = *p.id(&p.all[i])
	}
	return out
}

func ofFile(file *garden.Garden) *Snapshot {
	if file == nil {
		file = &garden.Garden{}
	}
	s := &Snapshot{
		sites:     partOf(file.Sites, func(x *garden.Site) *string { return &x.ID }),
		people:    partOf(file.People, func(x *garden.Person) *string { return &x.ID }),
		regions:   partOf(file.Regions, func(x *garden.Region) *string { return &x.ID }),
		materials: partOf(file.Materials, func(x *garden.Material) *string { return &x.ID }),
	}
	s.join(file)
	return s
}

// join makes the garden of the parts. The log is the file's: what people log in
// the browser is in the store.
func (s *Snapshot) join(log *garden.Garden) {
	s.Garden = &garden.Garden{
		Sites: s.sites.all, People: s.people.all, Regions: s.regions.all, Materials: s.materials.all,
		Scoutings: log.Scoutings, Treatments: log.Treatments,
	}
}
