package view

import (
	"plotwarden/plan"
	"plotwarden/web/say"
)

// OptionView is one material that a spray step names, as information.
type OptionView struct {
	Name     string
	Acts     string // "before it comes"
	Text     []string
	Own      []string // the grower's own materials with it
	Home     bool     // a home mix: evidence shown, never advised
	NotHere  bool     // its trials were on other crops only
	Evidence []EvidenceView
	Source
}

// EvidenceView is one finding of a trial.
type EvidenceView struct {
	Result, Text string
	Source
}

func options(os []plan.Option) []OptionView {
	var out []OptionView
	for _, o := range os {
		v := OptionView{Name: say.Upper(o.Ingredient), Own: o.Own, Home: o.Home, NotHere: o.NotHere, Source: source(o.Source)}
		if o.Acts != "" {
			v.Acts = "works " + o.Acts.Words()
		}
		texts := append([]string{o.Text, o.How, o.Bees}, o.Cautions...)
		for _, t := range texts {
			if t != "" {
				v.Text = append(v.Text, say.Sentence(t))
			}
		}
		for _, e := range o.Evidence {
			v.Evidence = append(v.Evidence, EvidenceView{say.Upper(e.Result), say.Sentence(e.Text), source(e.Source)})
		}
		out = append(out, v)
	}
	return out
}

// ProtectionView is the state of the last treatment.
type ProtectionView struct {
	State, Text, Growth string
	Source
}

func protection(p *plan.Protection) *ProtectionView {
	if p == nil {
		return nil
	}
	return &ProtectionView{say.Upper(string(p.State)), say.Sentence(p.Text), say.Sentence(p.Growth), source(p.Source)}
}
