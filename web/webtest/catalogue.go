package webtest

import (
	"slices"

	"plotwarden/civil"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/risk/model"
)

// invented is the source of every made-up number here.
var invented = risk.Source{Text: "Invented for the tests of the pages, no publication", Standing: risk.FromMemory}

var practice = risk.Source{Text: "common practice: a weekly walk of 10 plants", Standing: risk.CommonPractice}

// Catalogue is a few threats by id.
type Catalogue map[string]*catalog.Threat

// ByID returns a threat.
func (c Catalogue) ByID(id string) (*catalog.Threat, bool) { t, ok := c[id]; return t, ok }

// IDs returns all ids in order.
func (c Catalogue) IDs() []string {
	var ids []string
	for id := range c {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	return ids
}

// Model returns a model by its whole id.
func (c Catalogue) Model(id string) (*catalog.Model, bool) {
	for _, t := range c {
		for i := range t.Models {
			if t.Models[i].ID == id {
				return &t.Models[i], true
			}
		}
	}
	return nil, false
}

// ForCrop returns the threats to a crop in order of id.
func (c Catalogue) ForCrop(crop string) []*catalog.Threat {
	var out []*catalog.Threat
	for _, id := range c.IDs() {
		if c[id].Attacks(crop) {
			out = append(out, c[id])
		}
	}
	return out
}

// Threats returns the invented catalogue.
func Threats() Catalogue {
	c := Catalogue{}
	add := func(id, name, latin string, class catalog.Class, unit string, stages []model.Stage, crops ...string) {
		t := &catalog.Threat{
			ID: id, Name: name, Latin: latin, Class: class, Crops: crops, Source: invented,
			Look: "the first signs on a few plants", Where: "lowest leaves and undersides", Season: "Comes with settled weather.",
			Cultural: []catalog.Advice{
				{Kind: "clean up", Text: "Clear fallen leaves and last year's remains from the bed.", Source: invented},
				{Kind: "mulch", Text: "Lay straw so that rain cannot splash soil on the leaves.", Source: practice},
			},
			Materials: []catalog.Material{{Ingredient: "an invented ingredient", Text: "Works only before the trouble starts.", Source: invented}},
			Disagree:  []risk.Source{{Text: "Another invented account puts the threshold a tenth higher.", Standing: risk.SecondHand}},
			Threshold: []catalog.ActionThreshold{{Crop: crops[0], Stage: "before heads form", Measure: "% plants affected", Value: "5", Small: "1 in 20 plants", Source: invented}},
			Unused:    []catalog.Unused{{Text: "A threshold of 999", Why: "its start is not said", Source: invented}},
		}
		if unit != "" {
			t.Models = []catalog.Model{{
				ID: id + "/invented-2026", Threat: id, Title: name + ", invented 2026", Source: invented, Validated: "nowhere: invented",
				Notes: []string{"Tells of the first adults, not of damage."}, Default: true,
				Spec: Spec{UnitName: unit, At: stages, From: model.Start{Kind: model.FromCalendar, Day: civil.MonthDay{Month: 3, Day: 1}, Standing: risk.FromMemory}},
			}}
		} else {
			t.LogOnly = "No published rule was found for it. Your own log speaks."
		}
		c[id] = t
	}
	dd := "degree-days F"
	add("late-blight", "late blight", "Phytophthora infestans", catalog.Disease, "hours of wet leaves", nil, "tomato")
	add("early-blight", "early blight", "Alternaria linariae", catalog.Disease, "severity values", []model.Stage{{Name: "first spray", Value: 35}, {Name: "next spray", Value: 15, Spray: model.NextSpray}}, "tomato")
	add("hornworm", "tomato hornworm", "Manduca quinquemaculata", catalog.Insect, dd, []model.Stage{{Name: "first adults", Value: 900}}, "tomato")
	add("cabbageworm", "imported cabbageworm", "Pieris rapae", catalog.Insect, dd, []model.Stage{{Name: "adult butterflies", Value: 300}, {Name: "eggs", Value: 360}, {Name: "second flight", Value: 1200, Note: "a month later"}}, "cabbage", "kale", "broccoli")
	add("cabbage-maggot", "cabbage maggot", "Delia radicum", catalog.Insect, dd, []model.Stage{{Name: "first flies", Value: 452}}, "cabbage")
	add("diamondback", "diamondback moth", "Plutella xylostella", catalog.Insect, "", nil, "cabbage")
	add("vine-borer", "squash vine borer", "Eichlinia cucurbitae", catalog.Insect, dd, []model.Stage{{Name: "first adults", Value: 1000}}, "summer squash")
	add("cucumber-beetle", "striped cucumber beetle", "Acalymma vittatum", catalog.Insect, dd, []model.Stage{{Name: "beetles in the beds", Value: 350}}, "summer squash", "cucumber")
	add("downy-mildew", "downy mildew of cucurbits", "Pseudoperonospora cubensis", catalog.Disease, "infection hours", nil, "cucumber")
	add("powdery-mildew", "powdery mildew of pea", "Erysiphe pisi", catalog.Disease, "favourable days", []model.Stage{{Name: "first spots", Value: 20}}, "pea")
	add("pea-aphid", "pea aphid", "Acyrthosiphon pisum", catalog.Insect, dd, []model.Stage{{Name: "winged adults", Value: 700}}, "pea")
	return c
}
