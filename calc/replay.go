package calc

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/risk/learn"
	"plotwarden/risk/model"
	"plotwarden/risk/outlook"
	"plotwarden/risk/replay"
	"plotwarden/weather"
)

// ReplayInput is one site with what is known of it.
type ReplayInput struct {
	Site       *garden.Site
	Catalogue  *catalog.Catalogue
	Weather    *weather.Series // measured hours of the season and of other years
	Scoutings  []garden.Scouting
	Treatments []garden.Treatment
	Season     int // year in which the season began
	// Forecasts returns the newest forecast kept from before a day; nil when none.
	Forecasts func(d civil.Date) *weather.Series
	Noise     func() float64 // draws of a standard normal distribution, for forecasts that were not kept
	// Plot takes each drawing, if set.
	Plot func(name, svg string) error
}

// ReplayHeader names the columns that Replay writes.
func ReplayHeader() []string {
	return []string{"season", "site", "threat", "model", "event", "truth", "came", "hits", "misses", "false_alarms", "lead_days",
		"error_28", "error_14", "error_7", "inside_80", "brier_7", "brier_14", "brier_21", "brier_28", "sprays", "sprays_fixed"}
}

// replayVersions is in how many versions a forecast is run: with five the 10 and
// 90 % fall on a version.
const replayVersions = 5

// forecastDays is the length of a forecast that was not kept.
const forecastDays = 14

// Replay runs a season of a site as if live, for the default model of every
// threat to the crops that the site grows, and writes a row for each. The notes
// say what was assumed and what could not be run.
func Replay(w io.Writer, in ReplayInput) (notes []string, err error) {
	p, err := newReplayer(in)
	if err != nil {
		return nil, err
	}
	c := csv.NewWriter(w)
	for _, x := range p.planted() {
		r, note, err := p.one(x)
		if note != "" {
			notes = append(notes, note)
		}
		if err != nil {
			return notes, err
		}
		if r == nil {
			continue
		}
		s := replay.ScoreOf(replay.Policy{}, r)
		_ = c.Write(p.row(x, r, &s)) // Flush keeps the error
		if err := p.plots(x, r, &s); err != nil {
			return notes, err
		}
	}
	c.Flush()
	return append(notes, p.assumptions()...), written(c.Error())
}

type replayer struct {
	ReplayInput
	zone   *time.Location
	first  civil.Date // of the season
	days   []weather.Day
	past   *model.Season // hours of all years
	daily  *model.Season
	kept   int // days with a forecast that was kept
	issued int
}

func newReplayer(in ReplayInput) (*replayer, error) {
	p := &replayer{ReplayInput: in, zone: in.Site.Location(), first: in.Site.Season().In(in.Season)}
	if in.Weather == nil || in.Weather.Len() == 0 {
		return nil, fmt.Errorf("site %s has no weather yet; run the service, or plotwarden refresh, first", in.Site.ID)
	}
	p.days = in.Weather.Days(p.zone)
	from, to := p.days[0].Date, p.days[len(p.days)-1].Date
	if p.first < from || p.first.AddDays(60) > to {
		return nil, fmt.Errorf("site %s has weather from %s to %s; the season of %d, from %s on, is not in it", in.Site.ID, from, to, in.Season, p.first)
	}
	var err error
	if p.daily, err = model.NewDaySeason(p.days, p.zone, time.Time{}); err != nil {
		return nil, fmt.Errorf("days of site %s: %w", in.Site.ID, err)
	}
	p.past = model.NewSeason(in.Weather, p.zone, in.Weather.End())
	return p, nil
}

// planted is a threat with the planting that brings it in.
type planted struct {
	threat *catalog.Threat
	model  *catalog.Model
	crop   *garden.Planting
}

// planted returns every threat once, with its default model.
func (p *replayer) planted() []planted {
	var out []planted
	seen := map[string]bool{}
	for i := range p.Site.Plots {
		for j := range p.Site.Plots[i].Plantings {
			crop := &p.Site.Plots[i].Plantings[j]
			for _, t := range p.Catalogue.ForCrop(crop.Crop) {
				if m, ok := t.Default(); ok && !seen[t.ID] {
					seen[t.ID] = true
					out = append(out, planted{t, m, crop})
				}
			}
		}
	}
	return out
}

// start returns the day from which a rule counts in the season, or says why there
// is none. Plantings of another year stand in with their day of the year.
func (p *replayer) start(x planted) (civil.Date, string) {
	s := x.model.Spec.Start()
	switch s.Kind {
	case model.FromCalendar:
		return p.first.AddDays(s.Day.In(2026).Sub(civil.New(2026, time.January, 1))), ""
	case model.FromInGround:
		d := p.inGround(x)
		if d.IsZero() {
			return 0, "its crop has no day on which it went into the ground"
		}
		return d, ""
	}
	for _, l := range p.logs(x) {
		if l.Found() {
			return l.First, ""
		}
	}
	return 0, "it counts from " + startsAt(s)[len("with "):] + ", which the log of that season does not have"
}

// inGround moves the day on which the crop went into the ground to the season.
func (p *replayer) inGround(x planted) civil.Date {
	d := x.crop.InGround()
	if d.IsZero() {
		return 0
	}
	_, m, day := d.YMD()
	if at := civil.New(p.Season, m, day); at >= p.first {
		return at
	}
	return civil.New(p.Season+1, m, day)
}

// leastKnown is the share of a season's hours of which what a rule needs must be
// known for a replay to say anything.
const leastKnown = 0.8

// lacks names the first column that the season lacks, or nothing.
func (p *replayer) lacks(spec model.Spec, from, to civil.Date) string {
	a, z := p.Weather.Index(from.Start(p.zone)), p.Weather.Index(to.Start(p.zone))
	for _, v := range spec.Needs() {
		known := 0
		for i := max(0, a); i < min(z, p.Weather.Len()); i++ {
			if x := p.Weather.Value(v, i); x == x { // not NaN
				known++
			}
		}
		if float64(known) < leastKnown*float64(z-a) {
			return v.String()
		}
	}
	return ""
}

func (p *replayer) logs(x planted) []learn.Season {
	var out []learn.Season
	for _, s := range learn.Seasons(x.threat.ID, learn.Where{Site: p.Site}, p.Scoutings, p.Treatments) {
		if s.Year == p.Season {
			out = append(out, s)
		}
	}
	return out
}

// log returns the season's log that says most: the earliest find of any plot, or
// else the latest look without one.
func (p *replayer) log(x planted) *learn.Season {
	var best *learn.Season
	for _, s := range p.logs(x) {
		switch {
		case !s.Found() && !s.Censored():
		case best == nil, s.Found() && (!best.Found() || s.First < best.First), !s.Found() && !best.Found() && s.None > best.None:
			best = &s
		}
	}
	return best
}

// inGroundDays is for how long infections are looked for.
const inGroundDays = 120

// one replays a threat. Without a result the note says why.
func (p *replayer) one(x planted) (*replay.Result, string, error) {
	note := func(why string) (*replay.Result, string, error) {
		return nil, fmt.Sprintf("%s: not replayed, %s", x.model.ID, why), nil
	}
	start, why := p.start(x)
	if why != "" {
		return note(why)
	}
	c := &replay.Case{Name: fmt.Sprintf("%s %d, %s", p.Site.Name, p.Season, x.threat.Name), Spec: x.model.Spec, Start: start, From: start + 1,
		Input: model.Input{Susceptibility: x.crop.Susceptibility, Cover: x.crop.Cover}}
	all := stages(x.model.Spec, x.crop.Susceptibility)
	if len(all) > 0 {
		c.Event, c.Threshold = all[0].Name, all[0].Value
	} else {
		c.Event, c.Infection = "conditions that favour infection", true
	}
	past, err := p.history(c)
	if err != nil {
		return note(err.Error())
	}
	c.History = past
	c.To = min(start.AddDays(364), p.days[len(p.days)-1].Date.AddDays(-1))
	if c.Infection {
		c.To = min(c.To, start.AddDays(inGroundDays))
	} else {
		c.Log = p.log(x)
	}
	if c.To <= c.From {
		return note("there is no weather after " + c.From.String())
	}
	if v := p.lacks(x.model.Spec, c.Start, c.To); v != "" {
		return note("the season's weather has no, or too little, " + v)
	}
	if d := p.inGround(x); !d.IsZero() {
		days := inGroundDays
		if !x.crop.Removed.IsZero() {
			days = x.crop.Removed.Sub(x.crop.InGround())
		}
		c.SprayFrom, c.SprayTo = d, d.AddDays(days)
	}
	r, err := replay.Run(c, replay.Assumed{Days: forecastDays, Error: outlook.StatedError(), Noise: p.Noise, Versions: replayVersions}, replay.Policy{})
	if err != nil {
		return nil, "", err
	}
	return r, "", nil
}

// history runs the rule over all years, by the day if it can, and picks the
// record that the replay is run on accordingly.
func (p *replayer) history(c *replay.Case) (*outlook.History, error) {
	in := c.Input
	in.Start, in.Zone = p.days[0].Date.AddDays(2), p.zone
	t, err := p.daily.Run(c.Spec, &in)
	c.Record = &replay.Record{Days: p.days, Zone: p.zone, Forecasts: p.forecast}
	if err != nil {
		t, err = p.past.Run(c.Spec, &in)
		c.Record = &replay.Record{Hours: p.Weather, Zone: p.zone, Forecasts: p.forecast}
	}
	if err != nil {
		return nil, err
	}
	return outlook.NewHistory(t), nil
}

// forecast counts the days that had one.
func (p *replayer) forecast(d civil.Date) *weather.Series {
	p.issued++
	if p.Forecasts == nil {
		return nil
	}
	s := p.Forecasts(d)
	if s != nil {
		p.kept++
	}
	return s
}

func (p *replayer) assumptions() []string {
	notes := []string{
		fmt.Sprintf("other years of the record, earlier and later ones, stand for what may come; the season of %d is left out", p.Season),
		fmt.Sprintf("where no forecast was kept, the %d days that followed stand in with an error of temperature of %.1f C on the first day to %.1f C on the last (from memory); rain and humidity are those that came", forecastDays, outlook.StatedError().MAE[0], outlook.StatedError().MAE[forecastDays-1]),
	}
	if p.kept > 0 {
		notes = append(notes, fmt.Sprintf("%d of %d outlooks rest on forecasts that were kept", p.kept, p.issued))
	}
	return notes
}

func (p *replayer) row(x planted, r *replay.Result, s *replay.Score) []string {
	truth, came := "rule", ""
	if r.Case.Log != nil {
		truth = "log"
	}
	if len(r.Came) > 0 {
		came = r.Came[0].String()
	}
	row := []string{strconv.Itoa(p.Season), p.Site.ID, x.threat.ID, x.model.ID, r.Case.Event, truth, came,
		strconv.Itoa(s.Hits), strconv.Itoa(s.Misses), strconv.Itoa(s.FalseAlarms), meanOf(s.LeadDays)}
	n, covered := 0, 0
	for _, l := range s.At {
		row = append(row, tenths(l.Error))
		n, covered = n+l.N, covered+l.Covered
	}
	inside := ""
	if n > 0 {
		inside = fmt.Sprintf("%d of %d", covered, n)
	}
	row = append(row, inside)
	for _, h := range s.Horizons {
		b := ""
		if h.N > 0 {
			b = strconv.FormatFloat(h.Brier, 'f', 3, 64)
		}
		row = append(row, b)
	}
	return append(row, strconv.Itoa(s.Sprays), strconv.Itoa(s.Fixed))
}

func meanOf(days []int) string {
	if len(days) == 0 {
		return ""
	}
	sum := 0
	for _, d := range days {
		sum += d
	}
	return strconv.FormatFloat(float64(sum)/float64(len(days)), 'f', 1, 64)
}

// plots hands out the drawings of one threat.
func (p *replayer) plots(x planted, r *replay.Result, s *replay.Score) error {
	if p.Plot == nil {
		return nil
	}
	name := fmt.Sprintf("%s-%d-%s", p.Site.ID, p.Season, strings.ReplaceAll(x.model.ID, "/", "-"))
	if svg := replay.FanSVG(r); svg != "" && !r.Case.Infection {
		if err := p.Plot(name+"-dates.svg", svg); err != nil {
			return err
		}
	}
	i := len(risk.Horizons) / 2 // 21 days
	if s.Horizons[i].N == 0 {
		return nil
	}
	return p.Plot(name+"-chances.svg", replay.ReliabilitySVG(r.Case.Name, s.Horizons[i]))
}
