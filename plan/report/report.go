// Package report looks back at a season: when threats came against when they
// were forecast, sprays against a fixed calendar, and how plantings looked after
// each treatment. It is pure: rounds, logs and dates come in as arguments.
package report

import (
	"cmp"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
)

// CalendarDays is the fixed calendar that sprays are held against: a spray every
// 7 days, as in the trials that compared weather-timed with weekly sprays
// (Keinath 1996; New Jersey 1991-98; confirmed).
const CalendarDays = 7

// Input is what a report is made from.
type Input struct {
	Site        *garden.Site
	First, Last civil.Date // of the season, both in it
	Records     []garden.Record
	Seen        []garden.Scouting
	// Assessments are the last of each planting, threat and day, in any order.
	Assessments []plan.Assessment
	// Name gives a threat's name; nil or an empty answer shows its id.
	Name func(threat string) string
	Days int // of the calendar; 0 is CalendarDays
}

// Report is the season of one ground.
type Report struct {
	Site     string     `json:"site"`
	Name     string     `json:"name"`
	First    civil.Date `json:"first"`
	Last     civil.Date `json:"last"`
	Days     int        `json:"calendarDays"`
	Ground   Totals     `json:"ground"`
	Plots    []Plot     `json:"plots"`
	Material []Material `json:"materials"` // over the whole ground
}

// Plot is the season of one plot.
type Plot struct {
	ID        string     `json:"id"`
	Name      string     `json:"name"`
	Totals    Totals     `json:"totals"`
	Plantings []Planting `json:"plantings"`
}

// Planting is the season of one planting.
type Planting struct {
	ID       string     `json:"id"`
	Crop     string     `json:"crop"` // as it stands in a sentence
	Cultivar string     `json:"cultivar,omitempty"`
	From     civil.Date `json:"from"` // first day in the bed within the season
	To       civil.Date `json:"to"`   // last day in it
	Totals   Totals     `json:"totals"`
	Threats  []Threat   `json:"threats"`
	Uses     []Use      `json:"uses"`
}

// Totals count a planting, a plot or the ground.
type Totals struct {
	Looks      int `json:"looks"`
	Sprays     int `json:"sprays"`     // tests on a few leaves left out
	Calendar   int `json:"calendar"`   // sprays that the calendar would have made on the same plantings
	ByModel    int `json:"byModel"`    // of the sprays, by the reason logged
	ByScouting int `json:"byScouting"` //
	ByCalendar int `json:"byCalendar"` //
	NoReason   int `json:"noReason"`   //
	// Warned and Surprised count threats that were found, with and without a
	// warning in the four weeks before; Alarms count warnings without a find
	// where somebody looked, Unseen those where nobody did.
	Warned    int `json:"warned"`
	Surprised int `json:"surprised"`
	Alarms    int `json:"alarms"`
	Unseen    int `json:"unseen"`
}

// add adds another count to t.
func (t *Totals) add(o Totals) {
	t.Looks += o.Looks
	t.Sprays += o.Sprays
	t.Calendar += o.Calendar
	t.ByModel += o.ByModel
	t.ByScouting += o.ByScouting
	t.ByCalendar += o.ByCalendar
	t.NoReason += o.NoReason
	t.Warned += o.Warned
	t.Surprised += o.Surprised
	t.Alarms += o.Alarms
	t.Unseen += o.Unseen
}

// Make builds the report. Plantings that were not in their bed within the season
// are left out.
func Make(in Input) Report {
	in.Records = garden.Current(in.Records)
	r := Report{Site: in.Site.ID, Name: cmp.Or(in.Site.Name, in.Site.ID), First: in.First, Last: in.Last, Days: cmp.Or(in.Days, CalendarDays)}
	index := indexRounds(&in)
	var uses []Use
	for i := range in.Site.Plots {
		plot := &in.Site.Plots[i]
		out := Plot{ID: plot.ID, Name: cmp.Or(plot.Name, plot.ID)}
		for j := range plot.Plantings {
			p, ok := planting(&in, index, &plot.Plantings[j], r.Days)
			if !ok {
				continue
			}
			out.Plantings = append(out.Plantings, p)
			out.Totals.add(p.Totals)
			uses = append(uses, p.Uses...)
		}
		if len(out.Plantings) > 0 {
			r.Plots = append(r.Plots, out)
			r.Ground.add(out.Totals)
		}
	}
	r.Material = materials(uses)
	return r
}

func planting(in *Input, index rounds, p *garden.Planting, days int) (Planting, bool) {
	from, to := p.InGround(), in.Last
	if !p.Removed.IsZero() {
		to = min(to, p.Removed-1)
	}
	if from.IsZero() || from > in.Last || to < in.First {
		return Planting{}, false
	}
	from = max(from, in.First)
	out := Planting{ID: p.ID, Crop: p.Crop, Cultivar: p.Cultivar, From: from, To: to}
	if c, ok := garden.CropByID(p.Crop); ok {
		out.Crop = c.Name
	}
	t := &out.Totals
	for i := range in.Records {
		r := &in.Records[i]
		if on := in.local(r); r.Planting != p.ID || on < from || on > to.AddDays(1) || !r.Sprayed() || r.Test {
			continue
		}
		t.Sprays++
		switch r.Reason {
		case garden.ByModel:
			t.ByModel++
		case garden.ByScouting:
			t.ByScouting++
		case garden.ByCalendar:
			t.ByCalendar++
		default:
			t.NoReason++
		}
		out.Uses = append(out.Uses, in.use(r))
	}
	// From the day in the bed to the last day in it, both ends sprayed: the
	// longest calendar that the planting could have had.
	t.Calendar = to.Sub(from)/days + 1
	out.Threats = in.threats(index, p, from, to)
	for _, x := range out.Threats {
		t.Looks += x.Looks
		switch x.Outcome {
		case FoundWarned:
			t.Warned++
		case FoundUnwarned:
			t.Surprised++
		case WarnedNotFound:
			t.Alarms++
		case WarnedNobodyLooked:
			t.Unseen++
		}
	}
	return out, true
}

func (in *Input) local(r *garden.Record) civil.Date {
	return civil.Of(r.Start, in.Site.Location())
}

func (in *Input) name(threat string) string {
	if in.Name != nil {
		if n := in.Name(threat); n != "" {
			return n
		}
	}
	return threat
}
