package view

import (
	"slices"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/plan/season"
	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

// WorkPage is what is to be done when, and what was done.
type WorkPage struct {
	Site      Link
	Plantings []Choice
	Materials []Choice
	For       string // the planting that the hours are for
	NoWeather bool
	Days      []WorkDay
	Instead   string // work to do when no hour fits within two days
	Conflicts []string
	Cautions  []string
	Tasks     []string // the season's work, soonest first
	Gate      []string // lines of the clocks
	Season    Link
	Done      []DoneLine
	RecordCSV string
}

// Choice is one entry of a list to choose from.
type Choice struct {
	Value, Text string
	Chosen      bool
}

// WorkDay is one day's hours for spraying.
type WorkDay struct {
	Title string
	Good  []string // "06:00 to 09:00"
	Why   []string // what stands against the rest of the day
	Mind  []string // what to mind in the good hours
}

// DoneLine is one treatment on record.
type DoneLine struct{ When, Bed, What, Against, Note string }

// Logs are what the growers wrote down.
type Logs struct {
	Seen []garden.Scouting
	Done []garden.Treatment
}

// WorkHref is the address of a site's work page.
func WorkHref(site string) string { return SiteHref(site) + "/work" }

// workDaysBack is how many past days the season's work looks at: soil that has
// to be warm for some mornings running, and a week's water.
const workDaysBack = 21

// SpraySpan is the span of weather that the page needs.
func SpraySpan(in *In) (from, to time.Time) {
	from = in.Now.Truncate(time.Hour).AddDate(0, 0, -workDaysBack)
	return from, in.Now.Truncate(time.Hour).Add((plan.SprayDays*24 + 48) * time.Hour)
}

// Work builds the page. planting and material choose what the hours are for; an
// unknown one falls back to the first planting and to the general limits.
func Work(in *In, logs Logs, s *weather.Series, wet []wetness.State, planting, material string) WorkPage {
	done := logs.Done
	p := WorkPage{
		Tasks: tasks(in, s, logs.Seen), Season: Link{"The season so far", SeasonHref(in.Site.ID)},
		Site: Link{in.Site.Name, SiteHref(in.Site.ID)}, RecordCSV: SiteHref(in.Site.ID) + "/record.csv",
		Gate: gate(in, done), Done: doneLines(in, done),
	}
	chosen := p.choose(in, planting)
	m := garden.MaterialByID(in.Garden.Materials, material)
	p.Materials = []Choice{{Text: "any material (general limits)", Chosen: m == nil}}
	for i := range in.Garden.Materials {
		own := &in.Garden.Materials[i]
		p.Materials = append(p.Materials, Choice{own.ID, own.Label(), own == m})
	}
	if chosen == nil {
		return p
	}
	p.For = PlantingName(chosen)
	if s == nil || s.Len() == 0 || len(wet) != s.Len() {
		p.NoWeather = true
		return p
	}
	week := plan.SprayHours(plan.SprayQuery{Site: in.Site, Crop: chosen.Crop, Material: m, Series: s, Wet: wet, Now: in.Now, Limits: plan.DefaultSprayLimits()})
	p.Conflicts, p.Cautions = week.Conflicts, week.Cautions
	if week.Instead != nil {
		p.Instead = week.Instead.Text
	}
	p.Days = workDays(in, &week)
	return p
}

// choose lists the plantings that stand or come, and returns the chosen one.
func (p *WorkPage) choose(in *In, planting string) *garden.Planting {
	var chosen *garden.Planting
	for i := range in.Site.Plots {
		plot := &in.Site.Plots[i]
		for j := range plot.Plantings {
			g := &plot.Plantings[j]
			if !g.Removed.IsZero() && g.Removed <= in.today() {
				continue
			}
			if chosen == nil || g.ID == planting {
				chosen = g
			}
			p.Plantings = append(p.Plantings, Choice{Value: g.ID, Text: BedName(plot, g)})
		}
	}
	for i := range p.Plantings {
		p.Plantings[i].Chosen = p.Plantings[i].Value == chosen.ID
	}
	return chosen
}

func workDays(in *In, week *plan.SprayWeek) []WorkDay {
	var out []WorkDay
	var last civil.Date
	var since, until time.Time // the last stretch of good hours
	for _, r := range week.Runs() {
		for from := r.From; from.Before(r.To); {
			d := civil.Of(from, in.loc())
			to := minTime(r.To, d.AddDays(1).Start(in.loc()))
			if len(out) == 0 || d != last {
				out, last = append(out, WorkDay{Title: in.Style.Day(d, in.today())}), d
			}
			day := &out[len(out)-1]
			if r.Good {
				if n := len(day.Good); n > 0 && until.Equal(from) {
					day.Good[n-1] = in.Style.Hours(since, to, in.loc())
				} else {
					since = from
					day.Good = append(day.Good, in.Style.Hours(from, to, in.loc()))
				}
				until = to
				day.Mind = addNew(day.Mind, r.Warn)
			} else {
				day.Why = addNew(day.Why, r.Why)
			}
			from = to
		}
	}
	return out
}

func minTime(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

func addNew(have, more []string) []string {
	for _, m := range more {
		if m != "dark" && !slices.Contains(have, m) {
			have = append(have, m)
		}
	}
	return have
}

// tasks are the season's work: frost nights, sowing and setting out, water,
// rotation, clean-up. A fault of the figures leaves the list out.
func tasks(in *In, s *weather.Series, seen []garden.Scouting) []string {
	var days []weather.Day
	if s != nil {
		days = s.Days(in.loc())
	}
	list, err := season.Work(season.Input{Site: in.Site, Today: in.today(), Days: days, Seen: seen, Threats: in.Catalogue})
	if err != nil {
		return []string{"The season's work cannot be listed: " + err.Error() + "."}
	}
	out := make([]string, len(list))
	for i := range list {
		out[i] = list[i].Line(in.Site, in.today())
	}
	return out
}

func gate(in *In, done []garden.Treatment) []string {
	records := garden.RecordsOf(done, in.Site, in.Garden.Materials)
	return plan.GateLines(in.Site, plan.BedClocks(in.Site, records, in.Now), in.Now)
}

func doneLines(in *In, done []garden.Treatment) []DoneLine {
	var out []DoneLine
	for i := len(done) - 1; i >= 0; i-- {
		t := done[i]
		l := DoneLine{When: in.Style.Moment(t.At, in.Now, in.loc()), What: t.Material, Note: t.Note}
		if t.Ingredient != "" && t.Ingredient != t.Material {
			l.What += " (" + t.Ingredient + ")"
		}
		if plot, p := in.find(t.Planting); p != nil {
			l.Bed = BedName(plot, p)
		}
		for j, id := range t.Threats {
			if j > 0 {
				l.Against += ", "
			}
			l.Against += in.threat(id).Name
		}
		out = append(out, l)
	}
	return out
}
