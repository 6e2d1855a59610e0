package view

import (
	"cmp"
	"net/url"
	"slices"
	"strings"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/plan/season"
	"plotwarden/risk/planting"
	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

// WorkPage is what is to be done when, and what was done.
type WorkPage struct {
	Site      Link
	Plantings []Choice
	Materials []Choice
	Blooms    []Choice // whether anything is in flower there
	Own       []OwnHours
	Sources   []Source // where the limits of the hours come from
	Plan      Link     // the season's plan of the chosen planting
	Year      Link
	Print     Link   // the clocks, for the gate
	Log       Link   // log a treatment
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
	Hours []HourLine
}

// HourLine is the verdict on one hour with each of its reasons.
type HourLine struct {
	At        string // "06:00"
	Good      bool
	Why, Mind []string
}

// OwnHours says when one of the grower's own materials may be sprayed next.
type OwnHours struct {
	Name, First string // First is empty where no hour of the week is good
	Instead     string // what to do where none is within two days
	Not         string // why it is not for this crop
	Href        string
}

// DoneLine is one treatment on record.
type DoneLine struct{ When, Bed, What, Against, Note string }

// Logs are what the growers wrote down.
type Logs struct {
	Seen    []garden.Scouting
	Records []garden.Record // all of them, corrected ones too
	// Spring and Autumn are the frosts of past years; nothing is not known.
	Spring, Autumn planting.Chances
}

// Ask is what the hours for spraying are asked for.
type Ask struct {
	Planting, Material string // ids; unknown ones fall back to the first planting and to the general limits
	Bloom              garden.Bloom
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

// Work builds the page.
func Work(in *In, logs Logs, s *weather.Series, wet []wetness.State, ask Ask) WorkPage {
	at := SiteHref(in.Site.ID)
	p := WorkPage{
		Tasks: tasks(in, s, logs), Season: Link{"The season so far", SeasonHref(in.Site.ID)}, Year: Link{"The year's work, bed by bed", WorkHref(in.Site.ID) + "/year"},
		Print: Link{"To print", at + "/gate"}, Site: Link{in.Site.Name, at}, RecordCSV: at + "/record.csv",
		Gate: gate(in, logs.Records), Done: doneLines(in, logs.Records),
	}
	chosen := p.choose(in, ask.Planting)
	m := garden.MaterialByID(in.Garden.Materials, ask.Material)
	p.Materials = []Choice{{Text: "any material (general limits)", Chosen: m == nil}}
	for i := range in.Garden.Materials {
		own := &in.Garden.Materials[i]
		p.Materials = append(p.Materials, Choice{own.ID, own.Label(), own == m})
	}
	p.Blooms = []Choice{{"", "not said", ask.Bloom == ""}, {string(garden.NoBloom), "nothing in flower", ask.Bloom == garden.NoBloom}, {string(garden.OpenBloom), "flowers are open", ask.Bloom == garden.OpenBloom}}
	if chosen == nil {
		return p
	}
	p.For, p.Plan = PlantingName(chosen), Link{"The season's plan for it", PlanHref(in.Site.ID, chosen.ID)}
	p.Log = Link{"Log a treatment", LogHref(in.Site.ID) + "/treatment?planting=" + url.QueryEscape(chosen.ID)}
	if s == nil || s.Len() == 0 || len(wet) != s.Len() {
		p.NoWeather = true
		return p
	}
	q := plan.SprayQuery{Site: in.Site, Crop: chosen.Crop, Material: m, Series: s, Wet: wet, Now: in.Now, Limits: plan.DefaultSprayLimits(),
		Bloom: ask.Bloom, People: plan.QuietTimes(in.Site), Work: in.workOf(chosen.ID)}
	week := plan.SprayHours(q)
	p.Conflicts, p.Cautions = week.Conflicts, week.Cautions
	if week.Instead != nil {
		p.Instead = week.Instead.Text
	}
	p.Days = workDays(in, &week)
	hourLines(in, &week, p.Days)
	p.Sources = limitSources(&week)
	p.Own = ownHours(in, q, chosen)
	return p
}

// workOf lists what the latest round would have done in a planting, to do instead
// of a spray.
func (in *In) workOf(planting string) []plan.Step {
	var out []plan.Step
	for _, it := range in.items() {
		if it.Planting == planting {
			out = append(out, it.Steps...)
		}
	}
	return out
}

// hourLines puts every hour of the week under its day.
func hourLines(in *In, week *plan.SprayWeek, days []WorkDay) {
	at := -1
	var last civil.Date
	for i := range week.Hours {
		h := &week.Hours[i]
		if d := civil.Of(h.From, in.loc()); at < 0 || d != last {
			at, last = at+1, d
		}
		if at >= len(days) {
			return
		}
		l := HourLine{At: in.Style.Clock(h.From, in.loc()), Good: h.Good}
		for _, o := range h.Why {
			l.Why = append(l.Why, o.Text)
		}
		for _, o := range h.Warn {
			l.Mind = append(l.Mind, o.Text)
		}
		days[at].Hours = append(days[at].Hours, l)
	}
}

// limitSources are the sources of all limits that the week's hours met, each once.
func limitSources(week *plan.SprayWeek) []Source {
	var out []Source
	for i := range week.Hours {
		for _, o := range append(slices.Clone(week.Hours[i].Why), week.Hours[i].Warn...) {
			if s := source(o.Source); !slices.Contains(out, s) {
				out = append(out, s)
			}
		}
	}
	return out
}

// ownHours says for each of the grower's materials when it may be sprayed next on a
// planting.
func ownHours(in *In, q plan.SprayQuery, p *garden.Planting) []OwnHours {
	var out []OwnHours
	for i := range in.Garden.Materials {
		m := &in.Garden.Materials[i]
		o := OwnHours{Name: m.Label(), Href: WorkHref(in.Site.ID) + "?planting=" + url.QueryEscape(p.ID) + "&material=" + url.QueryEscape(m.ID)}
		if allowed, said := m.Allows(p.Crop); said && !allowed {
			o.Not = "its label, as typed, does not name this crop"
			out = append(out, o)
			continue
		}
		q.Material = m
		week := plan.SprayHours(q)
		if !week.FirstGood.IsZero() {
			o.First = in.Style.Moment(week.FirstGood, in.Now, in.loc())
		}
		if week.Instead != nil {
			o.Instead = week.Instead.Text
		}
		out = append(out, o)
	}
	return out
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
func tasks(in *In, s *weather.Series, logs Logs) []string {
	list, err := season.Work(seasonInput(in, s, logs))
	if err != nil {
		return []string{"The season's work cannot be listed: " + err.Error() + "."}
	}
	var out []string
	for _, t := range taskLines(in, list) {
		out = append(out, t.Text)
	}
	return out
}

// taskLines writes tasks, with those that say the same of several beds as one.
func taskLines(in *In, list []season.Task) []YearTask {
	var out []YearTask
	at := map[string]int{} // what is said to its line
	var beds [][]string
	for i := range list {
		t := list[i]
		bed := ""
		if plot, p := in.find(t.Planting); p != nil {
			bed = BedName(plot, p)
		} else if t.Plot != "" {
			bed = t.Plot
			for j := range in.Site.Plots {
				if p := &in.Site.Plots[j]; p.ID == t.Plot && p.Name != "" {
					bed = p.Name
				}
			}
		}
		text := t.Step.Line(in.today())
		n, ok := at[text]
		if !ok {
			n = len(out)
			at[text], out, beds = n, append(out, YearTask{text, source(t.Source)}), append(beds, nil)
		}
		if bed != "" && !slices.Contains(beds[n], bed) {
			beds[n] = append(beds[n], bed)
		}
	}
	for i := range out {
		if len(beds[i]) > 0 {
			out[i].Text = strings.Join(beds[i], "; ") + ". " + out[i].Text
		}
	}
	return out
}

// seasonInput gathers what the season's work is made from.
func seasonInput(in *In, s *weather.Series, logs Logs) season.Input {
	out := season.Input{Site: in.Site, Today: in.today(), Seen: logs.Seen, Threats: in.Catalogue, Spring: logs.Spring, Autumn: logs.Autumn,
		Waterings: season.Given(in.Site, logs.Records, in.today()-7, in.today()-1)}
	if s != nil {
		out.Days = s.Days(in.loc())
	}
	for i := range in.Site.Plots {
		for j := range in.Site.Plots[i].Plantings {
			if p := &in.Site.Plots[i].Plantings[j]; p.MaturityDays > 0 {
				if out.Maturity == nil {
					out.Maturity = map[string]int{}
				}
				out.Maturity[p.Crop] = max(out.Maturity[p.Crop], p.MaturityDays)
			}
		}
	}
	return out
}

func gate(in *In, records []garden.Record) []string {
	return plan.GateLines(in.Site, plan.BedClocks(in.Site, garden.Current(records), in.Now), in.Now)
}

func doneLines(in *In, all []garden.Record) []DoneLine {
	records := garden.Current(all)
	var out []DoneLine
	for i := len(records) - 1; i >= 0; i-- {
		r := &records[i]
		l := DoneLine{When: in.Style.Moment(r.Start, in.Now, in.loc()), What: cmp.Or(r.Product, r.Ingredient, r.Material, r.Method, "Work"), Note: r.Note}
		if r.Ingredient != "" && r.Ingredient != l.What {
			l.What += " (" + r.Ingredient + ")"
		}
		if plot, p := in.find(r.Planting); p != nil {
			l.Bed = BedName(plot, p)
		}
		for j, id := range r.Threats {
			if j > 0 {
				l.Against += ", "
			}
			l.Against += in.threat(id).Name
		}
		out = append(out, l)
	}
	return out
}
