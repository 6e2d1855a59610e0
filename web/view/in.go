// Package view builds what the pages show from a garden, a round and the
// catalogue: plain structs of words, links and drawings, without HTML of their
// own. It is pure: the time and the reader's style come in as arguments.
package view

import (
	"slices"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/catalog"
	"plotwarden/store"
	"plotwarden/web/say"
)

// Catalogue is what the pages ask of the published models; *catalog.Catalogue
// has it.
type Catalogue interface {
	ByID(id string) (*catalog.Threat, bool)
	Model(id string) (*catalog.Model, bool)
	IDs() []string
	ForCrop(crop string) []*catalog.Threat
}

// DefaultMaxAge is how old a round may be before everything that it judged is
// shown as blind (common practice: a day).
const DefaultMaxAge = 24 * time.Hour

// In is what the pages of one site are built from.
type In struct {
	Garden    *garden.Garden
	Site      *garden.Site
	Round     *store.Round // nil when no round has run yet
	Catalogue Catalogue
	Now       time.Time
	Style     say.Style
	Days      int           // length of the lead line; 14 unless set
	MaxAge    time.Duration // DefaultMaxAge unless set
	// Seen and Done are what the log says, as far as the reader may see it; needed
	// by the page of one threat alone.
	Seen []garden.Scouting
	Done []garden.Treatment

	zone *time.Location // of the site, read from the zone files once
}

// loc returns the site's zone. An In serves one page and one goroutine.
func (in *In) loc() *time.Location {
	if in.zone == nil {
		in.zone = in.Site.Location()
	}
	return in.zone
}

func (in *In) today() civil.Date { return civil.Of(in.Now, in.loc()) }

func (in *In) days() int {
	if in.Days > 0 {
		return in.Days
	}
	return 14
}

// stale says whether the round is too old for its readinesses to stand.
func (in *In) stale() bool {
	age := in.MaxAge
	if age <= 0 {
		age = DefaultMaxAge
	}
	return in.Round != nil && in.Now.Sub(in.Round.At) > age
}

// item is one assessment with what it is about.
type item struct {
	*plan.Assessment
	plot      *garden.Plot
	planting  *garden.Planting
	threat    *catalog.Threat // never nil: a threat that left the catalogue keeps its id as its name
	readiness plan.Readiness  // as shown: blind when the round is too old
}

// items returns the round's assessments of plantings that stand in the garden,
// one a planting and threat: when several models judge the same, the one that a
// grower has to see first.
func (in *In) items() []item {
	if in.Round == nil {
		return nil
	}
	at := map[string]int{}
	var out []item
	for i := range in.Round.Assessments {
		a := &in.Round.Assessments[i]
		it, ok := in.item(a)
		if !ok {
			continue
		}
		key := a.Planting + "/" + a.Threat
		if j, seen := at[key]; seen {
			if before(it, out[j]) < 0 {
				out[j] = it
			}
			continue
		}
		at[key] = len(out)
		out = append(out, it)
	}
	return out
}

func (in *In) item(a *plan.Assessment) (item, bool) {
	plot, planting := in.find(a.Planting)
	if planting == nil || (!planting.Removed.IsZero() && planting.Removed <= in.today()) {
		return item{}, false
	}
	return item{Assessment: a, plot: plot, planting: planting, threat: in.threat(a.Threat), readiness: in.shown(a)}, true
}

// shown returns the readiness to show. What an old round says of days ahead no
// longer holds; what was found is still found.
func (in *In) shown(a *plan.Assessment) plan.Readiness {
	if in.stale() && a.Readiness != plan.Present {
		return plan.Blind
	}
	return a.Readiness
}

func (in *In) find(planting string) (*garden.Plot, *garden.Planting) {
	for i := range in.Site.Plots {
		p := &in.Site.Plots[i]
		for j := range p.Plantings {
			if p.Plantings[j].ID == planting {
				return p, &p.Plantings[j]
			}
		}
	}
	return nil, nil
}

func (in *In) threat(id string) *catalog.Threat {
	if t, ok := in.Catalogue.ByID(id); ok {
		return t
	}
	return &catalog.Threat{ID: id, Name: id}
}

// before orders items as a grower wants to see them: readiness, then the
// earlier date, then the place in the garden.
func before(a, b item) int {
	if a.readiness != b.readiness {
		return int(a.readiness) - int(b.readiness)
	}
	return int(a.soonest()) - int(b.soonest())
}

const never = civil.Date(1 << 30)

// soonest returns the first date that presses: the last day of the first step,
// or else the early date of the outlook.
func (it *item) soonest() civil.Date {
	for _, s := range it.Steps {
		if !s.By.IsZero() {
			return s.By
		}
	}
	if it.Outlook != nil && !it.Outlook.P10.IsZero() {
		return it.Outlook.P10
	}
	return never
}

func sortItems(items []item) { slices.SortStableFunc(items, before) }
