package alerts

import (
	"cmp"
	"fmt"
	"net/url"
	"slices"
	"strings"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/lang"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/web/draw"
	"plotwarden/web/say"
)

// Notice is one thing told to one person. Texts are ready to show.
type Notice struct {
	Readiness plan.Readiness
	Threat    string // "Late blight"
	Beds      []Bed
	Change    string     // what is new; empty when nothing is or all is
	When      string     // by when: "now", "by Fri 12 Jun"
	Sure      string     // how sure
	Why       string     // one sentence with its numbers
	First     []StepLine // what to do first
	More      int        // further steps, which the page has
	Next      string     // the first step in short form, sprays apart
	Dry       string     // the dry hours for it
	Caution   string     // where spraying is named
	Numbers   []string   // each with its source and standing
	Model     string     // title and standing of the model
	Link      string     // the page that says more; empty without pages
	Acts      []Act      // what can be done about it from here

	plantings []string
	threat    string
	lane      draw.Lane
	by        civil.Date // for sorting: the last day, or the likely date
	news      bool
}

// ByWhen is When as it stands after the words "by when".
func (n Notice) ByWhen() string {
	return strings.TrimPrefix(strings.TrimPrefix(n.When, "by "), "hasta ")
}

// Bed is one planting that a notice is about.
type Bed struct{ Name, Link string }

// StepLine is one step with its last day.
type StepLine struct {
	Text string
	By   string // "by Fri 12 Jun"; empty without a last day
}

// shownSteps is how many steps a notice names.
const shownSteps = 3

// Caution stands wherever spraying is named.
const Caution = "The label is the law: use only a product whose label allows this crop and this use, at its rate, and keep its days before harvest and its hours before re-entry. This message knows none of those numbers."

// notices turns the items that ask for something into notices: what would read
// the same for several beds is one. They are sorted by what can still be
// changed: by readiness, then the new ones first, then by last day.
func (in *Input) notices(items []item) []Notice {
	at := map[string]int{}
	var out []Notice
	for _, it := range items {
		if it.Readiness > plan.Approaching {
			continue
		}
		n := in.notice(it)
		same := strings.Join([]string{it.Threat, n.Readiness.String(), n.Change, n.When, n.Why, n.Sure, fmt.Sprint(n.First)}, "\x00")
		if i, ok := at[same]; ok {
			out[i].Beds = append(out[i].Beds, n.Beds...)
			out[i].plantings = append(out[i].plantings, n.plantings...)
			continue
		}
		at[same] = len(out)
		out = append(out, n)
	}
	for i := range out {
		in.acts(&out[i])
	}
	slices.SortStableFunc(out, func(a, b Notice) int {
		return cmp.Or(cmp.Compare(a.Readiness, b.Readiness), compareBool(b.news, a.news), cmp.Compare(orLast(a.by), orLast(b.by)), cmp.Compare(a.Threat, b.Threat))
	})
	return out
}

func (in *Input) notice(it item) Notice {
	link := in.link("/site/" + url.PathEscape(in.Site.ID) + "/planting/" + url.PathEscape(it.Planting) + "/threat/" + url.PathEscape(it.Threat))
	n := Notice{
		Readiness: it.Readiness,
		Threat:    in.threatName(it),
		Beds:      []Bed{{in.bedName(it), link}},
		Change:    it.change.text,
		Why:       say.Sentence(in.voice().Reason(it.Reason)),
		Link:      link,
		plantings: []string{it.Planting},
		threat:    it.Threat,
		news:      it.change.isNews(),
		lane:      in.lane(it),
	}
	n.When, n.by = in.when(&it.Assessment)
	if o := it.Outlook; o != nil && it.Readiness != plan.Present {
		n.Sure = say.Sentence(in.voice().Sure(o, in.today()))
		if o.Basis != "" && o.Reached.IsZero() {
			n.Sure += " " + in.voice().T("Behind it: %s.", in.voice().Basis(strings.TrimSuffix(o.Basis, ".")))
		}
	} else if it.Readiness != plan.Present {
		n.Sure = in.voice().T("No date can be given.")
	}
	for i, s := range it.Steps {
		if i == shownSteps {
			n.More = len(it.Steps) - i
			break
		}
		n.First = append(n.First, in.step(s))
		if s.Kind == plan.Spray {
			n.Caution = in.voice().T(Caution)
		}
	}
	if len(it.Steps) > 0 && it.Steps[0].Kind != plan.Spray {
		n.Next = n.First[0].Text
	}
	if len(n.First) > 0 {
		n.Dry = in.dryBy(deadline(it.Steps))
	}
	for _, x := range it.Reason.Numbers {
		n.Numbers = append(n.Numbers, number(in.voice(), x, n.Link == ""))
	}
	if m, ok := in.Catalogue.Model(it.Model); ok {
		n.Model = in.voice().Foreign(m.Title) + " (" + standing(in.voice(), m.Weakest()) + ")"
	}
	return n
}

// when says by when, and the date to sort by.
func (in *Input) when(a *plan.Assessment) (string, civil.Date) {
	today := in.today()
	by := deadline(a.Steps)
	switch {
	case !by.IsZero() && by < today:
		return in.voice().T("now; the last day was %s", in.voice().Day(by, today)), by
	case !by.IsZero():
		return in.voice().T("by %s", in.voice().Day(by, today)), by
	case a.Readiness == plan.Present || a.Readiness == plan.Act:
		return in.voice().T("now"), today
	case a.Outlook != nil && !a.Outlook.P10.IsZero():
		return in.voice().T("before %s", in.voice().Day(a.Outlook.P10, today)), a.Outlook.P10
	}
	return in.voice().T("in the coming weeks"), 0
}

func (in *Input) step(s plan.Step) StepLine {
	out := StepLine{Text: say.Sentence(in.voice().Step(s))}
	if !s.By.IsZero() {
		out.By = in.voice().T("by %s", in.voice().By(s.By, in.today()))
	}
	return out
}

func (in *Input) link(path string) string {
	if in.BaseURL == "" {
		return ""
	}
	return strings.TrimRight(in.BaseURL, "/") + path
}

// deadline is the earliest last day among the steps that prevent; a look at the
// plants can be had on any day.
func deadline(steps []plan.Step) civil.Date {
	var by civil.Date
	for _, s := range steps {
		if s.Kind != plan.Scout && !s.By.IsZero() && (by.IsZero() || s.By < by) {
			by = s.By
		}
	}
	return by
}

// number writes a figure with how far it was checked. The page behind the
// notice has the source; where there is none the source stands here.
func number(v lang.Voice, x plan.Number, withSource bool) string {
	out := v.NumberName(x) + ": " + v.Figure(x.Value, x.Unit)
	if x.Source.Text == "" || !withSource {
		return out + " (" + v.T(x.Source.Standing.String()) + ")"
	}
	return out + " (" + x.Source.Text + "; " + v.T(x.Source.Standing.String()) + ")"
}

// standing says the standing of a model's least certain number.
func standing(v lang.Voice, s risk.Standing) string {
	if s == risk.Confirmed {
		return v.T("all its numbers are confirmed")
	}
	return v.T("its least certain number is %s", v.T(s.String()))
}

// bedName says where and what: "Bed 3: Tomato, Roma".
func bedName(v lang.Voice, plot *garden.Plot, p *garden.Planting) string {
	bed, crop := cmp.Or(plot.Name, plot.ID), p.Crop
	if c, ok := garden.CropByID(p.Crop); ok {
		crop = c.Name
	}
	out := bed + ": " + say.Upper(v.Term(crop))
	if p.Cultivar != "" {
		out += ", " + p.Cultivar
	}
	return out
}

func (in *Input) bedName(it item) string { return bedName(in.voice(), it.plot, it.planting) }

func (in *Input) threatName(it item) string { return say.Upper(in.voice().Term(it.threat.Name)) }

// BedNames says where and what some plantings of a site are; those that are gone
// are left out.
func BedNames(v lang.Voice, s *garden.Site, plantings []string) []string {
	var out []string
	for _, id := range plantings {
		if plot, p := find(s, id); p != nil {
			out = append(out, bedName(v, plot, p))
		}
	}
	return out
}

func orLast(d civil.Date) civil.Date {
	if d.IsZero() {
		return 1<<31 - 1
	}
	return d
}

func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return 1
	}
	return -1
}
