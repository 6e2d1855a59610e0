package plan

import (
	"math"

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
		return decision{readiness: Quiet, reason: because("waiting", said("Counting starts with %s; log it when you see it. Until then this model says nothing.", term(c.Waiting)))}
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
	return decision{readiness: Quiet, reason: because("past", said("Every stage that this model times has passed this season. It says nothing of what stayed; keep looking weekly."))}
}

func reached(c *Case, o *risk.Outlook, st model.Stage) decision {
	d := decision{readiness: Act, outlook: o, reason: because("stage-reached",
		said("Conditions have favoured %s since %s: the total passed %s. Look at the plants now.", term(st.Name), onDay(o.Reached), figure(st.Value, c.Track.Unit)))}
	tellTuned(c, st, &d.reason)
	d.reason.Numbers = numbers(c, st)
	return d
}

func coming(c *Case, r Rules, o *risk.Outlook, st model.Stage) decision {
	d := decision{readiness: Quiet, outlook: o}
	code, key, when := "far", "%s: %s.", spread(o)
	switch {
	case !o.P10.IsZero() && o.P10.Sub(c.Today) <= r.ActDays:
		d.readiness, code, key = Act, "early-date-near", "%s: %s. Prevention should start now."
	case !o.P50.IsZero() && o.P50.Sub(c.Today) <= r.ApproachingDays:
		d.readiness, code = Approaching, "median-within-four-weeks"
	case o.P50.IsZero():
		when = said("not expected within the days looked at")
	}
	d.reason = because(code, said(key, term(st.Name), within(when)))
	if p, ok := c.Track.At(c.Today.AddDays(-1)); ok {
		d.reason.add(said("So far %s of %s.", digits(p.Total), figure(st.Value, c.Track.Unit)))
	}
	tellTuned(c, st, &d.reason)
	if o.Rough {
		d.reason.add(said("This is rough: few or no past years stand behind it."))
	}
	d.reason.Numbers = numbers(c, st)
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
	d := decision{readiness: Quiet, outlook: o, reason: because("no-infection", said("No day that favours infection in the last week or the forecast."))}
	switch {
	case o != nil && !o.P50.IsZero() && o.P50 <= o.ForecastTo && o.P50.Sub(c.Today) <= r.InfectionDays:
		d.readiness = Act
		d.reason = because("infection-forecast", said("The forecast has conditions that favour infection on %s. A protectant works only before it.", onDay(o.P50)))
	case last != nil && c.Today.Sub(last.Date) <= r.InfectionDays:
		d.readiness, d.outlook = Act, nil // the next one is not what decided
		d.reason = because("infection-passed", said("Conditions favoured infection on %s. Look for the first signs now.", onDay(last.Date)))
	case o != nil && !o.P50.IsZero() && o.P50.Sub(c.Today) <= r.ActDays:
		d.readiness = Approaching
		d.reason = because("infection-usual", said("None in the forecast. In past years conditions that favour infection came by %s in half of the years.", onDay(o.P50)))
	}
	if d.outlook != nil {
		src := risk.Source{Text: o.Basis, Standing: risk.Derived}
		if c.Unmeasured && !o.ForecastTo.IsZero() {
			src = risk.Source{Text: o.Basis + "; how far the forecast lies off in humidity and rain was not measured here and is stated from memory", Standing: risk.FromMemory}
		}
		d.reason.Numbers = append(d.reason.Numbers, Number{Name: "chance within 14 days", Value: math.Round(100 * o.Chance[1]), Unit: "%", Source: src})
	}
	d.reason.Numbers = append(d.reason.Numbers, tunedRule(c)...)
	return d
}

func numbers(c *Case, st model.Stage) []Number {
	out := append(threshold(c, st), tunedRule(c)...)
	if p, ok := c.Track.At(c.Today.AddDays(-1)); ok {
		out = append(out, called(said("total to the end of %s", onDay(p.Date)), Number{Value: p.Total, Unit: c.Track.Unit,
			Source: risk.Source{Text: c.Model.Title + " over this site's weather", Standing: risk.Derived}}))
	}
	return out
}
