package plan

import (
	"math"

	"plotwarden/risk"
	"plotwarden/risk/learn"
)

// Arrival is what the growers' own log says of when a threat comes here.
type Arrival struct {
	Learned *learn.Arrival
	Outlook risk.Outlook // by the way that Learned chose
}

// ownLog decides by the log's outlook where there is one. A stage of the model
// that was reached lately goes before it: the model has seen this season's
// weather to the end.
func ownLog(c *Case, r Rules) (decision, bool) {
	if c.Arrival == nil {
		return decision{}, false
	}
	o := &c.Arrival.Outlook
	d := decision{readiness: Quiet, outlook: o}
	code := "log-far"
	text := []Said{said("Going by your log (%s of %s seasons), the first find is %s.", term(string(c.Arrival.Learned.Chosen)), digits(float64(c.Arrival.Learned.Finds+c.Arrival.Learned.Censored)), within(spread(o)))}
	if c.Arrival.Learned.Finds+c.Arrival.Learned.Censored == 0 {
		text = []Said{said("Your own log has no season yet. Going by what neighbours share (%s seasons), the first find is %s.", digits(float64(c.Arrival.Learned.Neighbours)), within(spread(o)))}
	}
	switch {
	case !o.P90.IsZero() && o.P90 < c.Today:
		code, d.outlook = "log-past", nil
		text = []Said{said("In past seasons the first find came before %s. None is logged this season: keep looking.", onDay(o.P90))}
		if c.Today.Sub(o.P90) <= r.LastingDays {
			d.readiness = Act
			text = append(text, said("Look now."))
		}
	case !o.P10.IsZero() && o.P10.Sub(c.Today) <= r.ActDays:
		d.readiness, code = Act, "log-early-date-near"
		text = append(text, said("Prevention should start now."))
	case !o.P50.IsZero() && o.P50.Sub(c.Today) <= r.ApproachingDays:
		d.readiness, code = Approaching, "log-median-within-four-weeks"
	}
	if c.Model == nil {
		text = append(text, said("No trustworthy model is known; the log speaks alone."))
	}
	if o.Rough {
		text = append(text, said("This is rough: few seasons stand behind it."))
	}
	d.reason = because(code, text...)
	d.reason.Numbers = c.Arrival.numbers()
	return d, true
}

// numbers are the misses of all four ways over the log, each season predicted
// from the others, and how often the dates of the one used held.
func (a *Arrival) numbers() []Number {
	var out []Number
	for i := range a.Learned.Ways {
		w := &a.Learned.Ways[i]
		if !w.Usable || math.IsNaN(w.Error) {
			continue
		}
		key := "%s: mean miss over %s seasons of the log"
		if w.Name == a.Learned.Chosen {
			key = "%s: mean miss over %s seasons of the log (the one used)"
		}
		out = append(out, called(said(key, term(string(w.Name)), digits(float64(len(w.Tries)))), Number{Value: w.Error, Unit: "days",
			Source: risk.Source{Text: "your log, each season predicted from the others", Standing: risk.Derived}}))
		if w.Name == a.Learned.Chosen {
			out = append(out, called(said("seasons of the log that came within their 8-in-10 dates, of %s", digits(float64(len(w.Tries)))), Number{Value: float64(w.Covered()), Unit: "seasons",
				Source: risk.Source{Text: "your log, each season predicted from the others", Standing: risk.Derived}}))
		}
	}
	return out
}
