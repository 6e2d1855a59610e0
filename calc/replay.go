package calc

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/risk/learn"
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

// replayVersions is in how many versions a forecast is run: with ten the 10 and
// 90 % fall between two.
const replayVersions = 10

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
	ground *replay.Ground
	kept   int // days with a forecast that was kept
	issued int
}

func newReplayer(in ReplayInput) (*replayer, error) {
	p := &replayer{ReplayInput: in}
	var err error
	if p.ground, err = replay.NewGround(in.Site, in.Weather, p.forecast); err != nil {
		return nil, err
	}
	return p, p.ground.Has(in.Season)
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

func (p *replayer) logs(x planted) []learn.Season {
	var out []learn.Season
	for _, s := range learn.Seasons(x.threat.ID, learn.Where{Site: p.Site}, p.Scoutings, p.Treatments) {
		if s.Year == p.Season {
			out = append(out, s)
		}
	}
	return out
}

// log returns the season's log that says most; nil when none does.
func (p *replayer) log(x planted) *learn.Season {
	if all := learn.Earliest(p.logs(x)); len(all) > 0 {
		return all[0]
	}
	return nil
}

// one replays a threat. Without a result the note says why.
func (p *replayer) one(x planted) (*replay.Result, string, error) {
	a := replay.Asked{Name: fmt.Sprintf("%s %d, %s", p.Site.Name, p.Season, x.threat.Name), Season: p.Season, Spec: x.model.Spec, Crop: x.crop}
	for _, l := range p.logs(x) {
		if l.Found() {
			a.Found = l.First
			break
		}
	}
	if len(stages(x.model.Spec, x.crop.Susceptibility)) > 0 {
		a.Log = p.log(x)
	}
	c, why := p.ground.Case(a)
	if why != "" {
		return nil, fmt.Sprintf("%s: not replayed, %s", x.model.ID, why), nil
	}
	r, err := replay.Run(c, replay.Assumed{Days: forecastDays, Error: outlook.StatedError(), Noise: p.Noise, Versions: replayVersions}, replay.Policy{})
	if err != nil {
		return nil, "", err
	}
	return r, "", nil
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
		fmt.Sprintf("where no forecast was kept, the %d days that followed stand in with an error of temperature of %.1f C on the first day to %.1f C on the last, and with errors of humidity and rain (all from memory)", forecastDays, outlook.StatedError().MAE[0], outlook.StatedError().MAE[forecastDays-1]),
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
