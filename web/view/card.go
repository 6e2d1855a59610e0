package view

import (
	"fmt"
	"html/template"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/web/draw"
	"plotwarden/web/say"
)

// Card is one entry of the list of what to do first.
type Card struct {
	Readiness plan.Readiness
	Shape     template.HTML
	Threat    string // "Late blight"; for blind entries what is not judged
	Beds      []Link // each leads to its why
	Lead      string // what is expected or was found, and how sure, in plain words
	Steps     []CardStep
	More      int    // steps that only the why page names
	Dry       string // hours for it; empty for blind entries
	Since     string // for blind entries: how far the weather reaches
	Meaning   string
}

// shownSteps is how many steps a card names: more is a list that no one reads
// between two beds. What is only approaching needs no more than the first.
func shownSteps(r plan.Readiness) int {
	if r == plan.Approaching {
		return 1
	}
	return 2
}

// Cards returns what to do first: present, act, approaching, blind. Entries that
// would say the same of several beds are one.
func (in *In) Cards() []Card {
	items := in.items()
	sortItems(items)
	var out []Card
	at := map[string]int{}
	for _, it := range items {
		if it.readiness > plan.Blind {
			continue
		}
		c := in.card(it)
		key := c.Readiness.String() + "\x00" + c.Lead + "\x00" + c.Since
		if it.readiness != plan.Blind { // all that is blind for one reason is one entry
			key += "\x00" + c.Threat + fmt.Sprint(c.Steps)
		}
		if i, ok := at[key]; ok {
			out[i].Beds = append(out[i].Beds, c.Beds...)
			continue
		}
		at[key] = len(out)
		out = append(out, c)
	}
	if c, ok := in.unjudged(); ok {
		out = append(out, c)
	}
	for i := range out {
		if out[i].Readiness == plan.Blind && out[i].Since != "" && len(out[i].Beds) > 1 {
			out[i].Threat = say.Count(len(out[i].Beds), "threat") + " not judged"
			out[i].Steps, out[i].More = []CardStep{{Text: "Look at these beds with your own eyes until the weather is back."}}, 0
		}
	}
	return out
}

// unjudged is the entry of the plantings that the round says nothing of though
// they have threats: silence about them must not read as quiet.
func (in *In) unjudged() (Card, bool) {
	c := Card{Readiness: plan.Blind, Shape: draw.Shape(plan.Blind, 28), Threat: "Not judged yet", Meaning: say.Meaning(plan.Blind),
		Lead: "Nothing can be said of these beds until the next round."}
	judged := map[string]bool{}
	for _, it := range in.items() {
		judged[it.Planting] = true
	}
	for i := range in.Site.Plots {
		plot := &in.Site.Plots[i]
		for j := range plot.Plantings {
			p := &plot.Plantings[j]
			if in.Round != nil && p.GrowingOn(in.today()) && !judged[p.ID] && len(in.Catalogue.ForCrop(p.Crop)) > 0 {
				c.Beds = append(c.Beds, Link{Text: BedName(plot, p)})
			}
		}
	}
	return c, len(c.Beds) > 0
}

func (in *In) card(it item) Card {
	c := Card{
		Readiness: it.readiness,
		Shape:     draw.Shape(it.readiness, 28),
		Meaning:   say.Meaning(it.readiness),
		Threat:    say.Upper(it.threat.Name),
		Lead:      in.lead(it),
		Beds:      []Link{{BedName(it.plot, it.planting), WhyHref(in.Site.ID, it.Planting, it.Threat)}},
	}
	if it.readiness == plan.Blind {
		c.Beds[0].Text += ", " + it.threat.Name
		c.Since = in.since(it.Assessment)
	}
	steps := it.Steps
	for i, s := range steps {
		if i == shownSteps(it.readiness) {
			c.More = len(steps) - i
			break
		}
		c.Steps = append(c.Steps, in.step(s))
	}
	if it.readiness != plan.Blind {
		var last civil.Date
		if len(steps) > 0 {
			last = steps[0].By
		}
		c.Dry = in.dryUntil(last)
	}
	return c
}

// lead says what is expected and how sure in one sentence. Where dates are
// ahead the outlook says it without the model's numbers; else the reason does.
func (in *In) lead(it item) string {
	if in.stale() && it.readiness == plan.Blind {
		return fmt.Sprintf("Not judged since %s: the service has not finished a round.", in.Style.Moment(in.Round.At, in.Now, in.loc()))
	}
	if it.readiness == plan.Act || it.readiness == plan.Approaching {
		if o := it.Outlook; ahead(o, in.today()) {
			event := o.Event
			if event == "" {
				event = it.threat.Name
			}
			return say.Sentence(event + ": " + in.Style.Sure(o, in.today()))
		}
	}
	return say.Sentence(it.Reason.Text)
}

// ahead says whether an outlook has a date to come that runs of weather, and not
// the forecast alone, gave.
func ahead(o *risk.Outlook, today civil.Date) bool {
	return o != nil && o.Reached.IsZero() && !o.P10.IsZero() && o.P10 != o.P90 && (o.P90.IsZero() || o.P90 >= today)
}

// since says how far the measured weather behind an assessment reaches.
func (in *In) since(a *plan.Assessment) string {
	if a.WeatherUntil.IsZero() {
		return "No measured weather has arrived yet."
	}
	return fmt.Sprintf("Measured weather reaches to %s (%s).", in.Style.Moment(a.WeatherUntil, in.Now, in.loc()), say.Ago(a.WeatherUntil, in.Now))
}
