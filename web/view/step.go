package view

import (
	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/web/say"
)

// CardStep is one step with its last day.
type CardStep struct {
	Text string
	By   string // "Fri 12 Jun"; empty without a last day
	Late bool   // the last day has passed
	Best string // a day before By by which it is best done
	When string // "Once the soil is warm."; what it waits for where no date can tell
}

// StepView is a step with when and whence.
type StepView struct {
	Kind string // "Clean up"
	CardStep
	From    string // empty: any time
	Again   string // "17 Jun, 24 Jun and 1 Jul"; when it is repeated
	Options []OptionView
	Source
}

func (in *In) step(s plan.Step) CardStep {
	cs := CardStep{Text: say.Sentence(s.Text), When: say.Sentence(s.When)}
	if !s.By.IsZero() {
		cs.By, cs.Late = in.Style.By(s.By, in.today()), s.By < in.today()
	}
	if !s.Best.IsZero() && s.Best >= in.today() && s.Best != s.By {
		cs.Best = in.Style.Day(s.Best, in.today())
	}
	return cs
}

func (in *In) stepView(s plan.Step) StepView {
	v := StepView{Kind: say.Upper(string(s.Kind)), CardStep: in.step(s), Source: source(s.Source), Options: options(s.Options)}
	if !s.From.IsZero() && s.From > in.today() {
		v.From = in.Style.Day(s.From, in.today())
	}
	var ahead []civil.Date
	for _, d := range s.Dates {
		if d > in.today() && len(ahead) < 4 {
			ahead = append(ahead, d)
		}
	}
	v.Again = in.dates(ahead)
	return v
}

// spraying says whether a step names spraying, so that the caution must stand by.
func spraying(s plan.Step) bool {
	return s.Kind == plan.Spray || s.Kind == plan.TestSpray || len(s.Options) > 0
}
