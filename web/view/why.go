package view

import (
	"html/template"
	"net/url"

	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/web/draw"
	"plotwarden/web/say"
)

// WhyPage is the page that says why a planting stands where it does with a
// threat: words, then numbers, then sources.
type WhyPage struct {
	Site      Link
	Weather   Link
	Threat    Link // to the catalogue
	Bed       string
	Readiness plan.Readiness
	Shape     template.HTML
	Meaning   string
	Warning   string
	Lead      string
	Judged    string
	Since     string // how far the measured weather reaches
	Steps     []StepView
	Sprays    bool // a step names spraying, so the caution stands beside it
	Dry       []DayHours
	Treated   *ProtectionView // the state of the last treatment
	Reason    string
	Numbers   []Number
	Outlook   *OutlookView
	Track     *TrackView
	Stages    []StageRow
	Model     *ModelView
	LogOnly   string // why there is no model
	Threshold []ThresholdRow
	Disagree  []Source
	Log       []LogLine
	LogIt     Link   // where a look is logged
	Whole     Link   // the season's plan of the planting
	Others    []Link // the same threat and planting by other models
}

// Source is a source with its standing in words.
type Source struct{ Text, Standing string }

func source(s risk.Source) Source { return Source{s.Text, s.Standing.String()} }

func sources(ss []risk.Source) []Source {
	out := make([]Source, len(ss))
	for i, s := range ss {
		out[i] = source(s)
	}
	return out
}

// Number is a figure behind the reason.
type Number struct {
	Name, Figure string
	Source
}

// Why builds the page for a planting and a threat; model chooses among several
// models' assessments and may be empty. ok is false when the site has no such
// planting or the round no such threat to it.
func Why(in *In, planting, threat, model string) (p WhyPage, ok bool) {
	var it item
	var all []item
	if in.Round == nil {
		return p, false
	}
	for i := range in.Round.Assessments {
		a := &in.Round.Assessments[i]
		if a.Planting != planting || a.Threat != threat {
			continue
		}
		if x, found := in.item(a); found {
			all = append(all, x)
		}
	}
	if len(all) == 0 {
		return p, false
	}
	sortItems(all)
	it = all[0]
	for _, x := range all {
		if model != "" && x.Model == model {
			it = x
		}
	}
	p = WhyPage{
		Site:      Link{in.Site.Name, SiteHref(in.Site.ID)},
		Weather:   Link{"The hours behind it", WeatherHref(in.Site.ID)},
		Threat:    Link{say.Upper(it.threat.Name), ThreatHref(it.Threat)},
		Bed:       BedName(it.plot, it.planting),
		Readiness: it.readiness,
		Shape:     draw.Shape(it.readiness, 32),
		Meaning:   say.Meaning(it.readiness),
		Warning:   in.warning(),
		Lead:      in.lead(it),
		Judged:    "Judged " + in.Style.Moment(it.Round, in.Now, in.loc()) + ".",
		Since:     in.since(it.Assessment),
		Dry:       in.DryDays(5),
		Treated:   protection(it.Protection),
		Reason:    say.Sentence(it.Reason.Text),
		LogOnly:   it.threat.LogOnly,
		Threshold: Thresholds(it.threat.Threshold),
		Disagree:  sources(it.threat.Disagree),
		Log:       in.log(it),
		LogIt:     Link{"Log what you see", LogHref(in.Site.ID) + "?" + url.Values{"planting": {planting}, "threat": {threat}}.Encode()},
		Whole:     Link{"The season's plan for this bed", PlanHref(in.Site.ID, planting)},
	}
	for _, s := range it.Steps {
		p.Steps = append(p.Steps, in.stepView(s))
		p.Sprays = p.Sprays || spraying(s)
	}
	for _, n := range it.Reason.Numbers {
		p.Numbers = append(p.Numbers, Number{say.Upper(n.Name), in.Style.Figure(n.Value, n.Unit), source(n.Source)})
	}
	if it.Outlook != nil {
		p.Outlook = in.outlook(it.Outlook)
	}
	if m, found := in.Catalogue.Model(it.Model); found {
		mv := Model(m)
		p.Model = &mv
		p.Stages = in.stages(it, m)
	}
	p.Track = in.track(it, p.Stages)
	for _, x := range all {
		if x.Assessment != it.Assessment {
			p.Others = append(p.Others, Link{in.modelTitle(x.Model) + ": " + x.readiness.String(),
				WhyHref(in.Site.ID, planting, threat) + "?model=" + template.URLQueryEscaper(x.Model)})
		}
	}
	return p, true
}

func (in *In) modelTitle(id string) string {
	if m, ok := in.Catalogue.Model(id); ok {
		return m.Title
	}
	if id == "" {
		return "Your own log"
	}
	return id
}
