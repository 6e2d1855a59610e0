package plan

import (
	"slices"
	"strings"

	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
)

// LabelCaution goes wherever spraying is named.
const LabelCaution = "The label is the law: it must name this crop, and it sets the rate, the days before harvest and the hours before you go back in."

// Option is one active ingredient that may be used against a threat, or one home
// mix that growers use. It is information, not a prescription: the label in the
// grower's hand decides whether and how.
type Option struct {
	Ingredient string      `json:"ingredient"`
	Acts       Acts        `json:"acts,omitempty"` // empty when not known
	Text       string      `json:"text"`           // against this threat
	Source     risk.Source `json:"source"`
	How        string      `json:"how,omitempty"`
	Bees       string      `json:"bees,omitempty"`
	Cautions   []string    `json:"cautions,omitempty"`
	Evidence   []Evidence  `json:"evidence,omitempty"`
	// Home says that it is a home mix: it may be logged and is not advised.
	// NotHere says that its trials were on other crops only.
	Home    bool `json:"home,omitempty"`
	NotHere bool `json:"notHere,omitempty"`
	// Own are the names of the grower's own materials with this ingredient whose
	// label, as typed, does not rule this crop out.
	Own []string `json:"own,omitempty"`
}

// Options lists what may be used against a threat on a crop: what acts before it
// comes first, then what acts on what is there, home mixes last. own is the
// grower's list of materials.
func Options(t *catalog.Threat, crop string, own []garden.Material) []Option {
	var out []Option
	for _, m := range t.Materials {
		o := Option{Ingredient: m.Ingredient, Text: m.Text, Source: m.Source}
		if in := IngredientOf(m.Ingredient); in != nil {
			o.fill(in, crop)
		}
		out = append(out, o)
	}
	k := known()
	for _, list := range [][]Ingredient{k.Ingredients, k.HomeMixes} {
		for i := range list {
			in := &list[i]
			if !slices.Contains(in.Threats, t.ID) || slices.ContainsFunc(out, func(o Option) bool { return o.Ingredient == in.Name }) {
				continue
			}
			o := Option{Ingredient: in.Name, Text: in.How, Source: in.Source}
			o.fill(in, crop)
			out = append(out, o)
		}
	}
	for i := range out {
		out[i].own(crop, own)
	}
	slices.SortStableFunc(out, func(a, b Option) int { return a.rank() - b.rank() })
	return out
}

func (o *Option) fill(in *Ingredient, crop string) {
	o.Acts, o.How, o.Bees = in.Acts, in.How, in.Bees
	o.Cautions, o.Evidence = in.Cautions, in.Evidence
	o.Home = in.Kind == garden.KindHomeMix
	o.NotHere = len(in.Crops) > 0 && !slices.Contains(in.Crops, crop)
	if o.How == o.Text {
		o.How = ""
	}
}

func (o *Option) own(crop string, list []garden.Material) {
	for i := range list {
		m := &list[i]
		in := IngredientOf(strings.TrimSpace(m.Ingredient + " " + m.Name))
		if in == nil || in != IngredientOf(o.Ingredient) {
			continue
		}
		if allowed, said := m.Allows(crop); allowed || !said {
			o.Own = append(o.Own, m.Label())
		}
	}
}

func (o *Option) rank() int {
	switch {
	case o.Home:
		return 4
	case o.Acts == Preventive:
		return 0
	case o.Acts == Both:
		return 1
	case o.Acts == Curative:
		return 2
	}
	return 3
}
