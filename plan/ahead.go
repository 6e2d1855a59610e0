package plan

import (
	"fmt"
	"strings"

	"plotwarden/risk"
	"plotwarden/risk/model"
)

// ahead looks at the outlooks: first at a stage that was reached lately, then
// at the next one to come.
func ahead(c *Case, r Rules) decision {
	if c.Waiting != "" {
		if d, ok := ownLog(c, r); ok {
			return d
		}
		return decision{readiness: Quiet, reason: Reason{Code: "waiting", Text: "Counting starts with " + c.Waiting + "; log it when you see it. Until then this model says nothing."}}
	}
	if len(c.Stages) == 0 {
		return infection(c, r)
	}
	for i := len(c.Outlooks) - 1; i >= 0; i-- {
		o := &c.Outlooks[i]
		if o.Reached.IsZero() {
			continue
		}
		if c.Today.Sub(o.Reached) <= r.LastingDays {
			return reached(c, o, c.Stages[i])
		}
		break // later stages decide
	}
	if d, ok := ownLog(c, r); ok && c.Outlooks[0].Reached.IsZero() {
		return d
	}
	for i := range c.Outlooks {
		if o := &c.Outlooks[i]; o.Reached.IsZero() {
			return coming(c, r, o, c.Stages[i])
		}
	}
	return decision{readiness: Quiet, reason: Reason{Code: "past", Text: "Every stage that this model times has passed this season. It says nothing of what stayed; keep looking weekly."}}
}

func reached(c *Case, o *risk.Outlook, st model.Stage) decision {
	return decision{readiness: Act, outlook: o, reason: Reason{
		Code:    "stage-reached",
		Text:    fmt.Sprintf("Conditions have favoured %s since %s: the total passed %s %s. Look at the plants now.", st.Name, day(o.Reached), number(st.Value), c.Track.Unit),
		Numbers: numbers(c, st),
	}}
}

func coming(c *Case, r Rules, o *risk.Outlook, st model.Stage) decision {
	d := decision{readiness: Quiet, outlook: o, reason: Reason{Code: "far", Numbers: numbers(c, st)}}
	when := spread(o)
	switch {
	case !o.P10.IsZero() && o.P10.Sub(c.Today) <= r.ActDays:
		d.readiness, d.reason.Code = Act, "early-date-near"
		d.reason.Text = fmt.Sprintf("%s: %s. Prevention should start now.", upper(st.Name), when)
	case !o.P50.IsZero() && o.P50.Sub(c.Today) <= r.ApproachingDays:
		d.readiness, d.reason.Code = Approaching, "median-within-four-weeks"
		d.reason.Text = fmt.Sprintf("%s: %s.", upper(st.Name), when)
	case o.P50.IsZero():
		d.reason.Text = fmt.Sprintf("%s: not expected within the days looked at.", upper(st.Name))
	default:
		d.reason.Text = fmt.Sprintf("%s: %s.", upper(st.Name), when)
	}
	if p, ok := c.Track.At(c.Today.AddDays(-1)); ok {
		d.reason.Text += fmt.Sprintf(" So far %s of %s %s.", number(p.Total), number(st.Value), c.Track.Unit)
	}
	if o.Rough {
		d.reason.Text += " This is rough: few or no past years stand behind it."
	}
	return d
}

// infection decides for rules that name days of infection and have no total.
func infection(c *Case, r Rules) decision {
	var last *risk.Event
	for i := range c.Track.Events {
		if e := &c.Track.Events[i]; e.Kind == risk.Infection && e.Date < c.Today {
			last = e
		}
	}
	var o *risk.Outlook
	if len(c.Outlooks) > 0 {
		o = &c.Outlooks[0]
	}
	d := decision{readiness: Quiet, outlook: o, reason: Reason{Code: "no-infection", Text: "No day that favours infection in the last week or the forecast."}}
	switch {
	case o != nil && !o.P50.IsZero() && o.P50 <= o.ForecastTo && o.P50.Sub(c.Today) <= r.InfectionDays:
		d.readiness, d.reason.Code = Act, "infection-forecast"
		d.reason.Text = fmt.Sprintf("The forecast has conditions that favour infection on %s. A protectant works only before it.", day(o.P50))
	case last != nil && c.Today.Sub(last.Date) <= r.InfectionDays:
		d.readiness, d.reason.Code, d.outlook = Act, "infection-passed", nil // the next one is not what decided
		d.reason.Text = fmt.Sprintf("Conditions favoured infection on %s. Look for the first signs now.", day(last.Date))
	case o != nil && !o.P50.IsZero() && o.P50.Sub(c.Today) <= r.ActDays:
		d.readiness, d.reason.Code = Approaching, "infection-usual"
		d.reason.Text = fmt.Sprintf("None in the forecast. In past years conditions that favour infection came by %s in half of the years.", day(o.P50))
	}
	if d.outlook != nil {
		d.reason.Numbers = append(d.reason.Numbers, Number{Name: "chance within 14 days", Value: 100 * o.Chance[1], Unit: "%", Source: risk.Source{Text: o.Basis, Standing: risk.Derived}})
	}
	return d
}

func numbers(c *Case, st model.Stage) []Number {
	src := st.From
	if strings.TrimSpace(src.Text) == "" {
		src = c.Model.Source
	}
	out := []Number{{Name: "published threshold: " + st.Name, Value: st.Value, Unit: c.Track.Unit, Source: src}}
	if p, ok := c.Track.At(c.Today.AddDays(-1)); ok {
		out = append(out, Number{Name: "total to the end of " + day(p.Date), Value: p.Total, Unit: c.Track.Unit,
			Source: risk.Source{Text: c.Model.Title + " over this site's weather", Standing: risk.Derived}})
	}
	return out
}
