// Package letter drafts a region's weekly newsletter for the volunteer who sends
// it: what is active and where, seen or predicted, what to look for, the number
// to act at, options, cautions, and when to look again. It is a draft to read
// and edit, and pure.
package letter

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"plotwarden/alerts"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/lang"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/store"
	"plotwarden/web/say"
)

// Ground is one site of the region as the service knows it.
type Ground struct {
	Site  *garden.Site
	Round *store.Round      // nil: none has run
	Seen  []garden.Scouting // the log; only finds that were shared are told
}

// Threats is what a letter asks the catalogue.
type Threats interface {
	ByID(id string) (*catalog.Threat, bool)
}

// Input is everything that a letter is made from.
type Input struct {
	Region  garden.Region
	Grounds []Ground
	Today   civil.Date
	Units   garden.Units
	// Language is that of the volunteer who edits the draft.
	Language garden.Language
	Threats  Threats
	Credits  []string // what the licences of the weather ask to be shown
}

// Letter is a draft. Texts are ready to show.
type Letter struct {
	Title, Lead string
	Items       []Item
	Blind       []string // grounds of which nothing can be said, and why
	NotTold     string   // what the letter leaves out
	NextCheck   string
	Credits     []string
	voice       lang.Voice
}

// Item is one threat in the region.
type Item struct {
	Name, Latin string
	Seen        []string // "North, 3 Jun: adults flying"
	Predicted   []string // "South: most likely 22 Jun, ..."
	LookFor     string
	ActAt       []string // published numbers at which acting pays
	Do          []string // cultural steps first
	Materials   []string // active ingredients
	NextCheck   string
	soonest     civil.Date
}

// seenDays is for how long a find counts as news, and nextDays when to look
// again: once a week (common practice).
const seenDays, nextDays = 7, 7

// Caution stands beneath everything that names a material.
const Caution = alerts.Caution

// Compose makes the draft.
func Compose(in Input) Letter {
	v := lang.New(in.Language, in.Units)
	l := Letter{
		Title: v.T("%s, week of %s", cmp.Or(in.Region.Name, in.Region.ID), v.Date(in.Today, in.Today)), Credits: in.Credits, voice: v,
		NextCheck: v.T("Look at the plants again by %s, also where nothing is named here.", v.Day(in.Today.AddDays(nextDays), in.Today)),
		NotTold:   v.T("Finds that growers logged but did not share are not in this letter. What no model or find speaks of can come all the same."),
	}
	var season civil.MonthDay // of a region's sites, which share a hemisphere
	if len(in.Grounds) > 0 {
		season = in.Grounds[0].Site.Season()
	}
	items := map[string]*Item{}
	item := func(id string) *Item {
		if items[id] == nil {
			items[id] = newItem(v, in.Threats, id, in.Today, season)
		}
		return items[id]
	}
	for _, g := range in.Grounds {
		name := cmp.Or(g.Site.Name, g.Site.ID)
		for _, s := range garden.Looks(g.Seen) {
			if s.Finding != garden.Found || !s.Share || s.Date > in.Today || in.Today.Sub(s.Date) >= seenDays {
				continue
			}
			it := item(s.Threat)
			it.Seen = append(it.Seen, fmt.Sprintf("%s, %s%s", name, v.Date(s.Date, in.Today), stage(v.Term(s.Stage))))
			it.soonest = in.Today
		}
		if why := blind(v, g, in.Today); why != "" {
			l.Blind = append(l.Blind, name+": "+why)
			continue
		}
		predict(g, name, v, in.Today, item)
	}
	for _, it := range items {
		l.Items = append(l.Items, *it)
	}
	slices.SortFunc(l.Items, func(a, b Item) int {
		return cmp.Or(cmp.Compare(min(1, len(b.Seen)), min(1, len(a.Seen))), cmp.Compare(a.soonest, b.soonest), cmp.Compare(a.Name, b.Name))
	})
	l.Lead = lead(v, l)
	return l
}

func stage(s string) string {
	if s == "" {
		return ""
	}
	return ": " + s
}

func lead(v lang.Voice, l Letter) string {
	seen, ahead := 0, 0
	for _, it := range l.Items {
		if len(it.Seen) > 0 {
			seen++
		} else {
			ahead++
		}
	}
	if seen+ahead == 0 {
		if len(l.Blind) > 0 {
			return v.T("Nothing can be said for part of the region this week; see below.")
		}
		return v.T("No find was shared and the models expect nothing within four weeks. That does not mean that nothing can come.")
	}
	return v.T("%d seen this week, %d predicted.", seen, ahead)
}

// blind says why nothing can be predicted for a ground; empty when it can.
func blind(v lang.Voice, g Ground, today civil.Date) string {
	switch {
	case g.Round == nil:
		return v.T("nothing has been judged yet.")
	case today.Sub(civil.Of(g.Round.At, g.Site.Location())) > 1:
		return v.T("not judged since %s.", civil.Of(g.Round.At, g.Site.Location()))
	}
	n := 0
	for _, a := range g.Round.Assessments {
		if a.Readiness == plan.Blind {
			n++
		}
	}
	if n > 0 && n == len(g.Round.Assessments) {
		return v.T("weather is missing or too old to say.")
	}
	return ""
}

// predict enters what the models expect, one line for a threat and ground: the
// earliest of its plantings. A find makes a planting present; whether it may be
// told is up to the finder, so that readiness says nothing here.
func predict(g Ground, name string, v lang.Voice, today civil.Date, item func(string) *Item) {
	first := map[string]*plan.Assessment{}
	for i := range g.Round.Assessments {
		a := &g.Round.Assessments[i]
		if a.Readiness != plan.Act && a.Readiness != plan.Approaching || a.Outlook == nil {
			continue
		}
		if old := first[a.Threat]; old == nil || dateOf(a.Outlook) < dateOf(old.Outlook) {
			first[a.Threat] = a
		}
	}
	for id, a := range first {
		it := item(id)
		it.Predicted = append(it.Predicted, fmt.Sprintf("%s: %s.", name, v.Sure(a.Outlook, today)))
		slices.Sort(it.Predicted)
		if d := dateOf(a.Outlook); it.soonest.IsZero() || d < it.soonest {
			it.soonest = d
		}
	}
}

// dateOf is the date to sort by: a date not known comes last.
func dateOf(o *risk.Outlook) civil.Date {
	for _, d := range []civil.Date{o.Reached, o.P50, o.P10} {
		if !d.IsZero() {
			return d
		}
	}
	return 1<<31 - 1
}

func newItem(v lang.Voice, threats Threats, id string, today civil.Date, season civil.MonthDay) *Item {
	t, ok := threats.ByID(id)
	if !ok {
		return &Item{Name: id}
	}
	it := &Item{Name: say.Upper(v.Term(t.Name)), Latin: t.Latin, NextCheck: v.T("Look at it again within %s.", v.Count(nextDays, "day"))}
	if t.Look != "" {
		it.LookFor = v.Foreign(say.Sentence(t.Look)) + sourced(v, t.Source)
		if t.Where != "" {
			it.LookFor = v.Foreign(say.Sentence(t.Look)) + " " + v.T("Where: %s", v.Foreign(say.Sentence(t.Where))) + sourced(v, t.Source)
		}
	}
	for _, n := range t.Threshold {
		text := strings.TrimSpace(strings.Join([]string{n.Crop, n.Stage}, ", "))
		text = strings.Trim(text, ", ") + ": " + n.Value + " " + n.Measure
		if n.Small != "" {
			text += " (on a small plot: " + n.Small + ")"
		}
		it.ActAt = append(it.ActAt, v.Foreign(text+".")+sourced(v, n.Source))
	}
	for _, a := range t.Cultural {
		if a.Due(today, season) > today {
			continue // work of another time of the year
		}
		it.Do = append(it.Do, v.Foreign(say.Sentence(a.Text))+sourced(v, a.Source))
	}
	for _, m := range t.Materials {
		it.Materials = append(it.Materials, say.Upper(v.Term(m.Ingredient))+": "+v.Foreign(say.Sentence(m.Text))+sourced(v, m.Source))
	}
	return it
}

// sourced says where a text is from and how far it was checked.
func sourced(v lang.Voice, s risk.Source) string {
	if s.Text == "" {
		return " (" + v.Standing(s.Standing) + ")"
	}
	return " (" + strings.TrimSuffix(s.Text, ".") + "; " + v.Standing(s.Standing) + ")"
}
