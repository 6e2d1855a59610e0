package catalog

import (
	"fmt"
	"slices"

	"go.yaml.in/yaml/v3"

	"plotwarden/risk/model"
	"plotwarden/strict"
)

// Rewritten returns the model with its rule read again from the parameters of
// its data file, after edit has changed them. The model itself stays as it is. It
// fails where edit does, and where the kind of rule cannot have such parameters.
func (m *Model) Rewritten(edit func(spec *yaml.Node) error) (Model, error) {
	if m.written == nil || m.Spec == nil {
		return Model{}, fmt.Errorf("model %s was not read from a data file", m.ID)
	}
	out := *m
	out.written = copyNode(m.written)
	if err := edit(out.written); err != nil {
		return Model{}, fmt.Errorf("change model %s: %w", m.ID, err)
	}
	var faults strict.Faults
	if out.Spec, faults = model.Decode(m.Spec.Kind(), m.ID, out.written); len(faults) > 0 {
		return Model{}, fmt.Errorf("change model %s: %w", m.ID, faults)
	}
	return out, nil
}

// copyNode copies a tree. Data files have no aliases.
func copyNode(n *yaml.Node) *yaml.Node {
	out := *n
	out.Content = make([]*yaml.Node, len(n.Content))
	for i, c := range n.Content {
		out.Content[i] = copyNode(c)
	}
	return &out
}

// Changed returns a catalogue in which each of the given models, by its whole id,
// stands in the place of the one that has the id. Ids that no model has are
// passed over. The receiver stays as it is.
func (c *Catalogue) Changed(models map[string]Model) *Catalogue {
	threats := slices.Clone(c.Threats)
	for i := range threats {
		threats[i].Models = slices.Clone(threats[i].Models)
		for j := range threats[i].Models {
			if m, ok := models[threats[i].Models[j].ID]; ok {
				threats[i].Models[j] = m
			}
		}
	}
	return build(threats)
}
