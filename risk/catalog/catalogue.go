package catalog

import (
	"slices"
	"strings"
)

// Catalogue is all threats with their models. It is not changed after loading,
// so many goroutines may read it.
type Catalogue struct {
	Threats []Threat // in order of id
	byID    map[string]int
	models  map[string]*Model
}

// ByID returns a threat, and whether there is one of that id.
func (c *Catalogue) ByID(id string) (*Threat, bool) {
	i, ok := c.byID[id]
	if !ok {
		return nil, false
	}
	return &c.Threats[i], true
}

// ForCrop returns the threats to a crop, in order of id.
func (c *Catalogue) ForCrop(crop string) []*Threat {
	var out []*Threat
	for i := range c.Threats {
		if c.Threats[i].Attacks(crop) {
			out = append(out, &c.Threats[i])
		}
	}
	return out
}

// Model returns a model by its whole id, "imported-cabbageworm/delahaut-2015",
// and whether there is one.
func (c *Catalogue) Model(id string) (*Model, bool) {
	m, ok := c.models[id]
	return m, ok
}

// IDs returns the ids of all threats in order: the candidates for a spelling.
func (c *Catalogue) IDs() []string {
	ids := make([]string, len(c.Threats))
	for i := range c.Threats {
		ids[i] = c.Threats[i].ID
	}
	return ids
}

// ModelIDs returns the ids of all models in order.
func (c *Catalogue) ModelIDs() []string {
	var ids []string
	for i := range c.Threats {
		for _, m := range c.Threats[i].Models {
			ids = append(ids, m.ID)
		}
	}
	slices.Sort(ids)
	return ids
}

// build sorts and indexes threats that passed the check.
func build(threats []Threat) *Catalogue {
	slices.SortFunc(threats, func(a, b Threat) int { return strings.Compare(a.ID, b.ID) })
	c := &Catalogue{Threats: threats, byID: make(map[string]int, len(threats)), models: map[string]*Model{}}
	for i := range threats {
		c.byID[threats[i].ID] = i
		for j := range threats[i].Models {
			c.models[threats[i].Models[j].ID] = &threats[i].Models[j]
		}
	}
	return c
}
