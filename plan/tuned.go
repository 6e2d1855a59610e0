package plan

import (
	"fmt"
	"strconv"
	"strings"

	"plotwarden/civil"
	"plotwarden/risk"
	"plotwarden/risk/model"
)

// Tuned is one number of the rule that the site's region has changed. The
// published one is shown beside it wherever the number is.
type Tuned struct {
	What             string // in words, as in a sentence: a stage, "the day from which it counts"
	Stage            string // the stage's name when its total is changed; empty otherwise
	Value, Published string // as they are written
	By, Why          string
	On               civil.Date
	From             risk.Source // of the published number
}

// source says who changed the number, when, why and from what.
func (t *Tuned) source() risk.Source {
	return risk.Source{Standing: risk.Derived,
		Text: fmt.Sprintf("tuned by %s on %s, because %s; published: %s", t.By, t.On, strings.TrimRight(t.Why, ". "), t.Published)}
}

// tunedStage returns the change of a stage's total; nil when it is as published.
func (c *Case) tunedStage(name string) *Tuned {
	for i := range c.Tuned {
		if t := &c.Tuned[i]; t.Stage != "" && t.Stage == name {
			return t
		}
	}
	return nil
}

// threshold is a stage's total, with the published one beside it where it was
// changed.
func threshold(c *Case, st model.Stage) []Number {
	src := st.From
	if strings.TrimSpace(src.Text) == "" {
		src = c.Model.Source
	}
	t := c.tunedStage(st.Name)
	if t == nil {
		return []Number{called(said("published threshold: %s", term(st.Name)), Number{Value: st.Value, Unit: c.Track.Unit, Source: src})}
	}
	out := []Number{called(said("threshold tuned for this region: %s", term(st.Name)), Number{Value: st.Value, Unit: c.Track.Unit, Source: t.source()})}
	if was, err := strconv.ParseFloat(t.Published, 64); err == nil {
		out = append(out, called(said("published threshold: %s", term(st.Name)), Number{Value: was, Unit: c.Track.Unit, Source: t.From}))
	}
	return out
}

// tunedRule are the changed numbers of the rule that are no stage's total.
func tunedRule(c *Case) []Number {
	var out []Number
	for i := range c.Tuned {
		t := &c.Tuned[i]
		if t.Stage != "" {
			continue
		}
		now, unit := t.number(t.Value, c.Today)
		was, _ := t.number(t.Published, c.Today)
		out = append(out, called(said("%s, tuned for this region", term(t.What)), Number{Value: now, Unit: unit, Source: t.source()}),
			called(said("%s, published", term(t.What)), Number{Value: was, Unit: unit, Source: t.From}))
	}
	return out
}

// number reads a value as it is written: a day of the year as its number, or a
// humidity.
func (t *Tuned) number(written string, today civil.Date) (x float64, unit string) {
	if d, err := civil.ParseMonthDay(written); err == nil {
		return float64(d.In(today.Year()).YearDay()), "day of the year"
	}
	x, err := strconv.ParseFloat(written, 64)
	if err != nil {
		return 0, ""
	}
	return x, "%"
}

// tell says in the reason that a number in it is not the published one.
func tellTuned(c *Case, st model.Stage, r *Reason) {
	t := c.tunedStage(st.Name)
	if t == nil {
		return
	}
	published := given(t.Published)
	if was, err := strconv.ParseFloat(t.Published, 64); err == nil {
		published = figure(was, c.Track.Unit)
	}
	r.add(said("%s is this region's number, tuned by %s on %s; published: %s.", figure(st.Value, c.Track.Unit), given(t.By), onDay(t.On), published))
}
