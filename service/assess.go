package service

import (
	"fmt"
	"log/slog"
	"slices"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/risk/model"
	"plotwarden/risk/outlook"
	"plotwarden/risk/tuning"
	"plotwarden/weather"
)

// comingDays is how long before it goes into the ground a planting is assessed:
// as long as prevention may need.
const comingDays = 28

// siteView is all that one round knows of one site.
type siteView struct {
	site      *garden.Site
	zone      *time.Location
	now       time.Time
	today     civil.Date
	hours     *weather.Series // this season's, with the forecast
	until     time.Time       // end of the observed hours
	past      *weather.Series // past years' hours; may be empty
	seen      []garden.Scouting
	done      []garden.Treatment
	materials []garden.Material  // the growers' own list
	catalogue *catalog.Catalogue // the site's region's
	tuned     *tuning.View       // what the region changed in it; nil: nothing
	stamp     string             // of those changes
	stated    bool               // the versions of the forecast rest on errors that were not measured here
	region    string             // id of the site's region; empty: none
	// neighbours are the other grounds of the region that share looks, and pastsOf
	// gives their runs over past years.
	neighbours []neighbour
	pastsOf    func(site string) *pastTracks

	rules  plan.Rules
	log    *slog.Logger
	failed func(model string) // counts a model that could not run

	tracks    map[string]trackResult
	season    *model.Season // of hours: what the models' runs have in common; made when first needed
	facts     siteFacts
	pasts     *pastTracks
	forecasts *outlook.Forecasts       // made when first needed
	runs      func() []*weather.Series // of an ensemble; nil, or returns nil, where there is none

	forecastError outlook.Error // of the forecast, measured at this site where it could be
}

type trackResult struct {
	track *risk.Track
	runs  []*risk.Track // over each version of the forecast
	err   error
}

// versions is in how many versions the forecast is run: its stated error at as
// many quantiles.
const versions = 15

// assess judges every planting of the site against every threat to its crop.
func (v *siteView) assess() []plan.Assessment {
	var out []plan.Assessment
	for i := range v.site.Plots {
		plot := &v.site.Plots[i]
		for j := range plot.Plantings {
			p := &plot.Plantings[j]
			if !v.concerns(p) {
				continue
			}
			for _, t := range v.catalogue.ForCrop(p.Crop) {
				if a, ok := v.one(plot, p, t); ok {
					out = append(out, a)
				}
			}
		}
	}
	return out
}

func (v *siteView) concerns(p *garden.Planting) bool {
	if !p.Removed.IsZero() && p.Removed <= v.today {
		return false
	}
	in := p.InGround()
	return !in.IsZero() && in.Sub(v.today) <= comingDays
}

// one assesses one threat. A threat without a model that was not seen either
// has nothing to say and is left out; its page in the catalogue says why.
func (v *siteView) one(plot *garden.Plot, p *garden.Planting, t *catalog.Threat) (plan.Assessment, bool) {
	m := defaultModel(t)
	c := &plan.Case{
		Site: v.site, Plot: plot, Planting: p, Threat: t, Model: m,
		Now: v.now, Today: v.today, WeatherUntil: v.until, RainSince: v.rainSince,
		Scoutings: v.looks(p, t), Treatments: v.treatments(p, t), Materials: v.materials,
		Stake: plan.StakeOf(v.site, plot, p, t),
	}
	v.sharpen(c)
	if m != nil {
		c.Tuned = tunedIn(v.tuned, m.ID)
	}
	if m == nil {
		c.Arrival = v.arrival(c, nil)
		if c.Arrival == nil && !slices.ContainsFunc(c.Scoutings, func(s garden.Scouting) bool { return s.Finding == garden.Found }) {
			return plan.Assessment{}, false
		}
		c.Waiting = "a find in your own log (no trustworthy model is known)"
		return plan.Assess(c, v.rules), true
	}
	from, waiting := start(v.site, p, m, t.ID, v.seen, v.today)
	c.Waiting = waiting
	if waiting == "" {
		v.fillTrack(c, from)
		c.Unmeasured = v.stated
	}
	return plan.Assess(c, v.rules), true
}

func (v *siteView) fillTrack(c *plan.Case, from civil.Date) {
	var runs []*risk.Track
	if from > v.today {
		// Nothing counts yet: the years run from an empty track.
		c.Track = &risk.Track{Model: c.Model.ID, Unit: c.Model.Spec.Unit(), Start: from.AddDays(-1), Points: []risk.Point{{Date: from.AddDays(-1)}}}
	} else if lacking, ok := v.lacks(c.Model); ok {
		c.NoTrack = fmt.Sprintf("it needs %s, which this site's weather does not have", lacking)
		return
	} else {
		r := v.track(c, from)
		if r.err != nil {
			c.NoTrack = r.err.Error()
			return
		}
		c.Track, runs = r.track, r.runs
	}
	sprayed := len(plan.Resets(c.Treatments, v.materials, v.now, v.zone)) > 0
	for _, st := range c.Model.Spec.Stages() {
		if st.Holds(c.Planting.Susceptibility, sprayed) {
			c.Stages = append(c.Stages, st)
		}
	}
	fan := outlook.NewFan(c.Track, runs, v.pasts.get(v, c).history)
	if len(c.Stages) > 0 {
		c.Arrival = v.arrival(c, fan)
	}
	for _, q := range questions(c, v.today) {
		c.Outlooks = append(c.Outlooks, fan.Outlook(q))
	}
}

// lacks names a column that a model needs and the season's weather has nowhere.
func (v *siteView) lacks(m *catalog.Model) (weather.Var, bool) {
	for _, need := range m.Spec.Needs() {
		if v.hours.Column(need) == nil {
			return need, true
		}
	}
	return 0, false
}

func questions(c *plan.Case, today civil.Date) []outlook.Question {
	if len(c.Model.Spec.Stages()) == 0 {
		return []outlook.Question{{Event: "conditions that favour infection", Today: today, Infection: true}}
	}
	qs := make([]outlook.Question, len(c.Stages))
	for i, s := range c.Stages {
		qs[i] = outlook.Question{Event: s.Name, Today: today, Threshold: s.Value}
	}
	return qs
}

// track runs a model once for all plantings that give it the same input.
func (v *siteView) track(c *plan.Case, from civil.Date) trackResult {
	in := &model.Input{
		Weather: v.hours, Zone: v.zone, Start: from, Now: v.now,
		Susceptibility: c.Planting.Susceptibility, Cover: c.Planting.Cover,
	}
	in.Resets = plan.Resets(c.Treatments, v.materials, v.now, v.zone)
	key := fmt.Sprint(c.Model.ID, from, in.Susceptibility, in.Cover, in.Resets)
	r, ok := v.tracks[key]
	if !ok {
		if v.season == nil {
			v.season = model.NewSeason(v.hours, v.zone, v.now)
		}
		in.Season = v.season
		r.track, r.err = c.Model.Spec.Run(in)
		if r.err == nil && len(r.track.Points) == 0 {
			r.err = fmt.Errorf("no weather since %s", from)
		}
		if r.err == nil {
			r.track.Model = c.Model.ID
			r.runs, r.err = v.versionsOf(c, *in)
		}
		if r.err != nil {
			v.failed(c.Model.ID)
			v.log.Warn("model did not run", "site", v.site.ID, "model", c.Model.ID, "start", from, "error", r.err)
		}
		v.tracks[key] = r
	}
	return r
}

// versionsOf runs a model over the versions of the forecast.
func (v *siteView) versionsOf(c *plan.Case, in model.Input) ([]*risk.Track, error) {
	if v.forecasts == nil {
		v.forecasts = outlook.NewForecasts(v.waysAhead(), v.zone, v.now)
	}
	return v.forecasts.Runs(c.Model.Spec, in)
}

func defaultModel(t *catalog.Threat) *catalog.Model {
	for i := range t.Models {
		if t.Models[i].Default {
			return &t.Models[i]
		}
	}
	return nil
}

func (v *siteView) looks(p *garden.Planting, t *catalog.Threat) []garden.Scouting {
	var out []garden.Scouting
	for _, s := range v.seen {
		if s.Planting == p.ID && s.Threat == t.ID {
			out = append(out, s)
		}
	}
	return out
}

func (v *siteView) treatments(p *garden.Planting, t *catalog.Threat) []garden.Treatment {
	var out []garden.Treatment
	for _, d := range v.done {
		if d.Planting == p.ID && slices.Contains(d.Threats, t.ID) {
			out = append(out, d)
		}
	}
	return out
}

// rainSince adds the rain from an instant to now and counts the hours in which
// it is unknown.
func (v *siteView) rainSince(t time.Time) (mm float64, unknown int) {
	for i := v.hours.Index(t); i < v.hours.Index(v.now); i++ {
		if r := v.hours.Value(weather.Rain, i); r == r { // not NaN
			mm += r
		} else {
			unknown++
		}
	}
	return mm, unknown
}
