// Package alerts decides what to tell whom: the morning's notices for one
// person, and how they read. It is pure; the channels below it send.
package alerts

import (
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/lang"
	"plotwarden/plan"
	"plotwarden/risk/catalog"
	"plotwarden/store"
)

// Catalogue is what a digest asks the catalogue of threats.
type Catalogue interface {
	ByID(id string) (*catalog.Threat, bool)
	Model(id string) (*catalog.Model, bool)
}

// MaxAge is how old an assessment may be before a digest calls it blind.
const MaxAge = 24 * time.Hour

// Input is everything that one digest is made from.
type Input struct {
	Person garden.Person
	Site   *garden.Site
	// Slot is the instant at which the digest is due; its key and the local date
	// follow from it.
	Slot time.Time
	// Now is when it is composed, later than Slot where the service was down:
	// dry hours before it are past. Slot when not set.
	Now         time.Time
	Assessments []plan.Assessment // of the latest round
	Hours       []plan.Hours      // working hours ahead
	Reminders   []plan.Reminder   // work that follows earlier work, due today or tomorrow
	// Told is what the person was told last; nil says that this is the first
	// message.
	Told *Told
	// Near are neighbours' shared looks, the own ground's among them.
	Near []Near
	// Disagreements are sources of the site's weather that lie widely apart.
	Disagreements []store.Disagreement
	Chosen        Chosen  // what the person acknowledged, muted and stopped
	ActLink       ActLink // makes the links by which to choose; nil makes none
	Catalogue     Catalogue
	Sources       []store.SourceStatus // of the site's weather
	BaseURL       string               // of the pages, without a slash at the end; empty: no links
	Credits       []string             // what the licences of the weather ask to be shown
	// Demo says that garden and dates are made up. DemoWeather then says where
	// the weather is from.
	Demo        bool
	DemoWeather string
}

func (in *Input) loc() *time.Location { return in.Site.Location() }

func (in *Input) now() time.Time {
	if in.Now.After(in.Slot) {
		return in.Now
	}
	return in.Slot
}

func (in *Input) today() civil.Date { return civil.Of(in.Slot, in.loc()) }

func (in *Input) voice() lang.Voice { return lang.New(in.Person.Language, in.Person.Units) }

// item is one assessment with what it is about.
type item struct {
	plan.Assessment
	plot     *garden.Plot
	planting *garden.Planting
	threat   *catalog.Threat
	change   change
}

// items returns the assessments that concern the person: one for a planting and
// threat, the most pressing where several models judge the same. Someone who
// tends plots of this site is told of those and of the ones that nobody tends;
// anyone else of all.
func (in *Input) items() []item {
	tends := false
	for _, p := range in.Site.Plots {
		tends = tends || p.Grower == in.Person.ID
	}
	at := map[string]int{}
	var out []item
	for _, a := range in.Assessments {
		plot, planting := find(in.Site, a.Planting)
		if planting == nil || tends && plot.Grower != "" && plot.Grower != in.Person.ID {
			continue
		}
		it := item{Assessment: in.aged(a), plot: plot, planting: planting, threat: in.threat(a.Threat)}
		it.change = in.changeOf(&it.Assessment)
		pair := toldKey(&a)
		if i, ok := at[pair]; ok {
			if it.Readiness < out[i].Readiness {
				out[i] = it
			}
			continue
		}
		at[pair] = len(out)
		out = append(out, it)
	}
	return out
}

// aged calls an assessment blind that is too old to stand.
func (in *Input) aged(a plan.Assessment) plan.Assessment {
	if in.now().Sub(a.Round) <= MaxAge {
		return a
	}
	a.Readiness, a.Outlook, a.Steps = plan.Blind, nil, nil
	a.Reason = plan.Reason{Code: "round-stale", Text: in.voice().T("Not judged since %s: the service has not finished a round.", in.voice().Moment(a.Round, in.now(), in.loc()))}
	return a
}

// threat returns the catalogue's entry; one that left the catalogue keeps its
// id as its name.
func (in *Input) threat(id string) *catalog.Threat {
	if t, ok := in.Catalogue.ByID(id); ok {
		return t
	}
	return &catalog.Threat{ID: id, Name: id}
}

func find(s *garden.Site, planting string) (*garden.Plot, *garden.Planting) {
	for i := range s.Plots {
		for j := range s.Plots[i].Plantings {
			if s.Plots[i].Plantings[j].ID == planting {
				return &s.Plots[i], &s.Plots[i].Plantings[j]
			}
		}
	}
	return nil, nil
}
