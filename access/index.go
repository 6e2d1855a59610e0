package access

import (
	"slices"

	"plotwarden/garden"
)

// Index finds the rights of one person without a walk through a garden of
// thousands of sites.
type Index struct {
	of map[string]*holding
}

type holding struct {
	name                string
	sites, tends, looks []string
	looked              []string // sites of the regions
}

// NewIndex reads a garden once. The garden must not change after it.
func NewIndex(g *garden.Garden) *Index {
	x := &Index{of: map[string]*holding{}}
	get := func(person string) *holding {
		h := x.of[person]
		if h == nil {
			h = &holding{}
			x.of[person] = h
		}
		return h
	}
	for i := range g.People {
		h := get(g.People[i].ID)
		h.name, h.sites = g.People[i].Name, slices.Clone(g.People[i].Sites)
	}
	for i := range g.Regions {
		for _, v := range g.Regions[i].Volunteers {
			h := get(v)
			h.looks = append(h.looks, g.Regions[i].ID)
			h.looked = append(h.looked, g.Regions[i].Sites...)
		}
	}
	for i := range g.Sites {
		for j := range g.Sites[i].Plots {
			if p := &g.Sites[i].Plots[j]; p.Grower != "" {
				h := get(p.Grower)
				h.sites = append(h.sites, g.Sites[i].ID)
				h.tends = append(h.tends, g.Sites[i].ID+"/"+p.ID)
				for k := range p.Plantings {
					h.tends = append(h.tends, plantingKey(g.Sites[i].ID, p.Plantings[k].ID))
				}
			}
		}
	}
	return x
}

// Of returns who a person is, as the function Of does.
func (x *Index) Of(person string, role Role) Who {
	w := Who{Person: person, Role: role, sites: map[string]bool{}, tends: map[string]bool{}, looks: map[string]bool{}}
	h := x.of[person]
	if h == nil {
		return w
	}
	w.Name = h.name
	set(w.sites, h.sites)
	set(w.tends, h.tends)
	if role == Volunteer {
		set(w.looks, h.looks)
		set(w.sites, h.looked)
	}
	return w
}

// plantingKey stands among the plots that somebody tends; no plot's id begins with
// a slash.
func plantingKey(site, planting string) string { return site + "//" + planting }

func set(m map[string]bool, keys []string) {
	for _, k := range keys {
		m[k] = true
	}
}
