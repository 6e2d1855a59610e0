package view

import (
	"fmt"
	"html/template"

	"plotwarden/plan"
	"plotwarden/web/draw"
	"plotwarden/web/say"
)

// SiteLine is one site in the list of several.
type SiteLine struct {
	Link
	Readiness plan.Readiness // the first that a grower has to see; 0 when nothing is watched
	Shape     template.HTML
	Summary   string // "2 to act on, 1 blind"
}

// Line builds a site's entry in the list of sites.
func Line(in *In) SiteLine {
	l := SiteLine{Link: Link{in.Site.Name, SiteHref(in.Site.ID)}, Readiness: plan.Blind}
	items := in.items()
	var n [plan.Quiet + 1]int
	for _, it := range items {
		n[it.readiness]++
	}
	var parts []string
	for _, k := range []struct {
		r     plan.Readiness
		words string
	}{{plan.Present, "present"}, {plan.Act, "to act on"}, {plan.Approaching, "approaching"}, {plan.Blind, "blind"}} {
		if n[k.r] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n[k.r], k.words))
		}
	}
	switch {
	case in.Round == nil:
		l.Summary = "No round has run yet."
	case len(items) == 0 && in.awaiting():
		l.Summary = "Not judged yet."
	case len(items) == 0:
		l.Readiness, l.Summary = 0, "Nothing grows here that is watched."
	default:
		sortItems(items)
		l.Readiness = items[0].readiness
		l.Summary = say.Sentence(say.List(parts))
		if len(parts) == 0 {
			l.Summary = "Nothing to do today."
		}
	}
	if l.Readiness != 0 {
		l.Shape = draw.Shape(l.Readiness, 28)
	}
	return l
}

// awaiting says whether a planting stands here that has threats to be judged.
func (in *In) awaiting() bool {
	for i := range in.Site.Plots {
		for j := range in.Site.Plots[i].Plantings {
			p := &in.Site.Plots[i].Plantings[j]
			if p.GrowingOn(in.today()) && len(in.Catalogue.ForCrop(p.Crop)) > 0 {
				return true
			}
		}
	}
	return false
}
