package view

import (
	"fmt"
	"html/template"

	"plotwarden/plan"
	"plotwarden/web/draw"
	"plotwarden/web/say"
)

// SitePage is a site's page.
type SitePage struct {
	Site      string
	Name      string
	Judged    string  // when the round behind it ran
	Warning   string  // why nothing, or nothing new, can be said; empty when all is well
	Counts    []Count // how many threats stand where
	Cards     []Card
	Calm      string // what stands in place of cards when there is nothing to do
	Title     string
	Days      int
	Other     Link // to the other length of the lead line
	Labels    template.HTML
	Rows      []Row
	Clock     template.HTML
	Hours     template.HTML
	SixTwelve string     // the hours of its lines in words
	DryDays   []DayHours // the next days, spelled out
	DryAll    []DayHours // every day of the axis, for the table
	Legend    []LegendEntry
	WeatherAt string
}

// Count is how many threats stand at a readiness.
type Count struct {
	Readiness plan.Readiness
	Shape     template.HTML
	N         int
}

// counts returns the readinesses that occur, in their order.
func (in *In) counts() []Count {
	var n [plan.Quiet + 1]int
	for _, it := range in.items() {
		n[it.readiness]++
	}
	var out []Count
	for r := plan.Present; r <= plan.Quiet; r++ {
		if n[r] > 0 {
			out = append(out, Count{r, draw.Shape(r, 22), n[r]})
		}
	}
	return out
}

// LegendEntry explains one readiness.
type LegendEntry struct {
	Readiness plan.Readiness
	Shape     template.HTML
	Meaning   string
}

// Site builds a site's page.
func Site(in *In) SitePage {
	axis := draw.Axis{From: in.today(), Days: in.days(), Loc: in.loc()}
	p := SitePage{
		Site:      in.Site.ID,
		Name:      in.Site.Name,
		Warning:   in.warning(),
		Counts:    in.counts(),
		Cards:     in.Cards(),
		Title:     in.Title(axis),
		Days:      axis.Days,
		Labels:    draw.AxisLabels(axis, in.Style),
		Rows:      in.Rows(axis),
		DryDays:   in.DryDays(5),
		DryAll:    in.DryDays(axis.Days),
		Legend:    Legend(),
		WeatherAt: WeatherHref(in.Site.ID),
	}
	if in.Round != nil {
		p.Judged = fmt.Sprintf("Judged %s, %s.", in.Style.Moment(in.Round.At, in.Now, in.loc()), say.Ago(in.Round.At, in.Now))
	}
	p.Other = Link{"Show 28 days", SiteHref(in.Site.ID) + "?days=28"}
	if axis.Days != 14 {
		p.Other = Link{"Show 14 days", SiteHref(in.Site.ID)}
	}
	if len(p.Cards) == 0 && in.Round != nil {
		p.Calm = "Nothing to do today. Walk the beds once a week all the same: what you see counts for more than any forecast."
	}
	clock := func(h int) string { return in.Style.Clock(axis.From.Slot(h, 0, in.loc()), in.loc()) }
	p.Clock = draw.HourLabels(clock)
	p.SixTwelve = say.List([]string{clock(6), clock(12), clock(18)})
	p.Hours = draw.DrawHours(axis, draw.Hours{
		ID: "dry-hours", Title: "Dry working hours", Runs: in.hours(), Now: in.Now,
		Desc: "Each column is a day, morning at the top. " + in.dryDesc(p.DryDays),
	})
	return p
}

func (in *In) warning() string {
	switch {
	case in.Round == nil:
		return "No round has run for this ground yet. Nothing can be said until the first weather has arrived."
	case in.stale():
		return fmt.Sprintf("The last round ran %s. What it said of the days ahead no longer holds: treat every bed as blind.", say.Ago(in.Round.At, in.Now))
	}
	return ""
}

func (in *In) dryDesc(days []DayHours) string {
	out := ""
	for _, d := range days {
		if d.Hours != "" {
			out += say.Upper(d.Day) + ": " + d.Hours + ". "
		} else {
			out += say.Upper(d.Day) + ": none, " + d.Why + ". "
		}
	}
	return out
}

// Legend explains the readinesses in their order.
func Legend() []LegendEntry {
	var out []LegendEntry
	for r := plan.Present; r <= plan.Quiet; r++ {
		out = append(out, LegendEntry{r, draw.Shape(r, 22), say.Meaning(r)})
	}
	return out
}
