package view

import (
	"plotwarden/risk/catalog"
	"plotwarden/web/say"
)

// ThreatGroup is the threats of one class.
type ThreatGroup struct {
	Name    string // "Insects"
	Threats []ThreatLine
}

// ThreatLine is one threat in the list.
type ThreatLine struct {
	Link
	Latin, Crops, Models string
}

// Threats lists the catalogue by class.
func Threats(c Catalogue) []ThreatGroup {
	groups := []ThreatGroup{{Name: "Insects"}, {Name: "Mites"}, {Name: "Diseases"}}
	index := map[catalog.Class]int{catalog.Insect: 0, catalog.Mite: 1, catalog.Disease: 2}
	for _, id := range c.IDs() {
		t, ok := c.ByID(id)
		if !ok {
			continue
		}
		line := ThreatLine{Link{say.Upper(t.Name), ThreatHref(t.ID)}, t.Latin, say.List(t.CropNames()), "your log only"}
		if n := len(t.Models); n > 0 {
			line.Models = say.Count(n, "model")
		}
		g := &groups[index[t.Class]]
		g.Threats = append(g.Threats, line)
	}
	var out []ThreatGroup
	for _, g := range groups {
		if len(g.Threats) > 0 {
			out = append(out, g)
		}
	}
	return out
}

// ThreatPage is a threat's page in the catalogue.
type ThreatPage struct {
	Name, Latin, EPPO, Class, Crops string
	Look, Where, Season             string
	Source
	Migrant   bool
	LogOnly   string
	Cultural  []AdviceView
	Materials []AdviceView // active ingredients; no rates
	Threshold []ThresholdRow
	Models    []ModelView
	Disagree  []Source
	Unused    []AdviceView
}

// AdviceView is a text with a heading and a source.
type AdviceView struct {
	Kind, Text string
	Source
}

// Threat builds a threat's page.
func Threat(t *catalog.Threat) ThreatPage {
	p := ThreatPage{
		Name: say.Upper(t.Name), Latin: t.Latin, EPPO: t.EPPO, Class: string(t.Class), Crops: say.List(t.CropNames()),
		Look: say.Sentence(t.Look), Where: say.Sentence(t.Where), Season: say.Sentence(t.Season), Source: source(t.Source),
		Migrant: t.Migrant, LogOnly: say.Sentence(t.LogOnly),
		Threshold: Thresholds(t.Threshold), Disagree: sources(t.Disagree),
	}
	for _, a := range t.Cultural {
		p.Cultural = append(p.Cultural, AdviceView{say.Upper(a.Kind), say.Sentence(a.Text), source(a.Source)})
	}
	for _, m := range t.Materials {
		p.Materials = append(p.Materials, AdviceView{say.Upper(m.Ingredient), say.Sentence(m.Text), source(m.Source)})
	}
	for _, u := range t.Unused {
		p.Unused = append(p.Unused, AdviceView{"", say.Sentence(u.Text) + " Not used: " + say.Sentence(u.Why), source(u.Source)})
	}
	for i := range t.Models {
		p.Models = append(p.Models, Model(&t.Models[i]))
	}
	return p
}
