package view

import (
	"html/template"
	"net/url"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/catalog"
	"plotwarden/weather"
	"plotwarden/web/draw"
	"plotwarden/web/say"
)

// PlanPage is the season's plan of one planting: against each threat what to do
// when, from the clean-up to the last day of spraying.
type PlanPage struct {
	Site, Work Link
	Bed        string
	Clock      []string // what keeps people out or stops the harvest
	Threats    []ThreatPlan
	Cautions   []string
}

// ThreatPlan is the work against one threat.
type ThreatPlan struct {
	ID, Name   string
	Why, Look  Link
	Readiness  plan.Readiness
	Shape      template.HTML
	Window     string // when prevention runs
	Missed     string
	Steps      []StepView
	Next       []StepView // for the next planting
	Thresholds []ThresholdRow
	HomeMixes  []OptionView
}

// PlanHref is the address of the season's plan of a planting.
func PlanHref(site, planting string) string {
	return SiteHref(site) + "/planting/" + url.PathEscape(planting)
}

// Plan builds the page. s may be nil; lastPick is zero where it is not known. ok is
// false when the site has no such planting.
func Plan(in *In, id string, s *weather.Series, records []garden.Record, lastPick civil.Date, rules plan.Rules) (PlanPage, bool) {
	plot, p := in.find(id)
	if p == nil {
		return PlanPage{}, false
	}
	out := PlanPage{Site: Link{in.Site.Name, SiteHref(in.Site.ID)}, Work: Link{"Hours for spraying it", WorkHref(in.Site.ID) + "?planting=" + url.QueryEscape(id)}, Bed: BedName(plot, p)}
	for _, c := range plan.BedClocks(in.Site, garden.Current(records), in.Now) {
		if c.Planting == id {
			out.Clock = c.Lines(in.loc())[1:]
		}
	}
	var days []weather.Day
	if s != nil {
		days = s.Days(in.loc())
	}
	judged := map[string]item{}
	for _, it := range in.items() {
		if it.Planting == id {
			judged[it.Threat] = it
		}
	}
	w := plan.WindowInput{Plot: plot, Planting: p, Today: in.today(), Days: days, Own: in.Garden.Materials, LastPick: lastPick, Season: in.Site.Season()}
	said := map[string]bool{}
	for _, t := range in.plans(p, judged) {
		w.Threat, w.Outlook, w.Here = t, nil, false
		it, ok := judged[t.ID]
		if ok {
			w.Outlook, w.Here = it.Outlook, it.readiness == plan.Present
		}
		a := plan.Windows(w, rules)
		x := in.threatPlan(t, p, &a)
		if ok {
			x.Readiness, x.Shape = it.readiness, draw.Shape(it.readiness, 24)
			x.Why = Link{"Why", WhyHref(in.Site.ID, id, t.ID)}
		}
		out.Threats = append(out.Threats, x)
		for _, c := range a.Cautions {
			if !said[c] {
				said[c] = true
				out.Cautions = append(out.Cautions, c)
			}
		}
	}
	return out, true
}

// plans orders the threats to a crop as a grower wants to see them.
func (in *In) plans(p *garden.Planting, judged map[string]item) []*catalog.Threat {
	var first []item
	for _, t := range in.Catalogue.ForCrop(p.Crop) {
		if it, ok := judged[t.ID]; ok {
			first = append(first, it)
		}
	}
	sortItems(first)
	var out []*catalog.Threat
	for _, it := range first {
		out = append(out, it.threat)
	}
	for _, t := range in.Catalogue.ForCrop(p.Crop) {
		if _, ok := judged[t.ID]; !ok {
			out = append(out, t)
		}
	}
	return out
}

func (in *In) threatPlan(t *catalog.Threat, p *garden.Planting, a *plan.ActionPlan) ThreatPlan {
	x := ThreatPlan{ID: t.ID, Name: say.Upper(t.Name), Missed: a.Missed, Thresholds: Thresholds(a.Thresholds), HomeMixes: options(a.HomeMixes),
		Look: Link{"Log a look", LogHref(in.Site.ID) + "?" + url.Values{"planting": {p.ID}, "threat": {t.ID}}.Encode()}}
	if a.Missed == "" && !a.Start.IsZero() {
		x.Window = "Prevention: from " + in.Style.Date(max(a.Start, in.today()), in.today()) + ", begun by " + in.Style.Date(a.StartBy, in.today()) + "; expected from " + in.Style.Date(a.Early, in.today()) + "."
	}
	for _, s := range a.Steps {
		x.Steps = append(x.Steps, in.stepView(s))
	}
	for _, s := range a.Next {
		x.Next = append(x.Next, in.stepView(s))
	}
	return x
}
