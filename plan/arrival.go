package plan

import (
	"fmt"
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
	d := decision{readiness: Quiet, outlook: o, reason: Reason{Code: "log-far", Numbers: c.Arrival.numbers()}}
	text := fmt.Sprintf("Going by your log (%s of %d seasons), the first find is %s.", c.Arrival.Learned.Chosen, c.Arrival.Learned.Finds+c.Arrival.Learned.Censored, spread(o))
	switch {
	case !o.P90.IsZero() && o.P90 < c.Today:
		d.reason.Code, d.outlook = "log-past", nil
		text = fmt.Sprintf("In past seasons the first find came before %s. None is logged this season: keep looking.", day(o.P90))
		if c.Today.Sub(o.P90) <= r.LastingDays {
			d.readiness = Act
			text += " Look now."
		}
	case !o.P10.IsZero() && o.P10.Sub(c.Today) <= r.ActDays:
		d.readiness, d.reason.Code = Act, "log-early-date-near"
		text += " Prevention should start now."
	case !o.P50.IsZero() && o.P50.Sub(c.Today) <= r.ApproachingDays:
		d.readiness, d.reason.Code = Approaching, "log-median-within-four-weeks"
	}
	if c.Model == nil {
		text += " No trustworthy model is known; the log speaks alone."
	}
	if o.Rough {
		text += " This is rough: few seasons stand behind it."
	}
	d.reason.Text = text
	return d, true
}

// numbers are the misses of all four ways over the log, each season predicted
// from the others.
func (a *Arrival) numbers() []Number {
	var out []Number
	for i := range a.Learned.Ways {
		w := &a.Learned.Ways[i]
		if !w.Usable || math.IsNaN(w.Error) {
			continue
		}
		name := fmt.Sprintf("%s: mean miss over %d seasons of the log", w.Name, len(w.Tries))
		if w.Name == a.Learned.Chosen {
			name += " (the one used)"
		}
		out = append(out, Number{Name: name, Value: w.Error, Unit: "days",
			Source: risk.Source{Text: "your log, each season predicted from the others", Standing: risk.Derived}})
	}
	return out
}
