package service

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/catalog"
	"plotwarden/risk/learn"
	"plotwarden/risk/model"
	"plotwarden/risk/outlook"
	"plotwarden/risk/replay"
	"plotwarden/risk/tuning"
	"plotwarden/weather"
)

// TuningTrial is a change of one number of a published rule, to be tried over
// what a region has logged.
type TuningTrial struct {
	Region    string             // as people call it
	Catalogue *catalog.Catalogue // as published
	InForce   []tuning.Tuning    // the region's changes so far, the oldest first
	// Change has Model, What, Stage (of StageValue) and Tuned. Who, Why and When
	// may be empty for a trial; to be saved it needs them.
	Change tuning.Tuning
	Today  civil.Date   // seasons that are not over are left out
	Sites  []TuningSite // of the region
	// HeldOut are the years of the seasons that nobody looked at when the number
	// was chosen. What the other seasons say for it is no proof.
	HeldOut []int
}

// TuningSite is what a trial knows of one site. The log should hold only what may
// be counted for whoever asks.
type TuningSite struct {
	Site       *garden.Site
	Weather    *weather.Series // measured hours, of the seasons logged and of other years
	Scoutings  []garden.Scouting
	Treatments []garden.Treatment
	// Named says whether a look may be shown with its place; nil: all may. Seasons
	// that rest on others count without a name and are not drawn.
	Named func(garden.Scouting) bool
	// Forecasts returns the newest forecast that was kept from before a day, nil
	// where none was. May be nil.
	Forecasts func(d civil.Date) *weather.Series
}

// TuningResult is the old and the new number side by side.
type TuningResult struct {
	// Change is the trial's with the published number, and with what the comparison
	// says of it, as it would be saved.
	Change tuning.Tuning
	// Was is the number in force so far: the published one, or the last change.
	Was string
	*tuning.Comparison
	Notes []string // seasons left out and why, and what was assumed
	// Drawings are whole SVG files: the errors side by side, then, for each season,
	// the dates named day by day before and after.
	Drawings []Drawing
}

// Drawing is one SVG file.
type Drawing struct{ Name, SVG string }

// The length of forecasts that were not kept, and in how many versions each is
// run.
const (
	trialForecast = 14
	trialVersions = 10
)

// TryTuning replays every season that the sites have logged, with the rule in
// force and with the changed one, and puts the two side by side. It reads no
// clock and no store, and the same trial gives the same result. It takes about a
// tenth of a second a season for rules that run by the day, some seconds for
// rules that run by the hour. It fails when the rule cannot have the change, and
// not for want of seasons: then the warnings say so.
func TryTuning(in TuningTrial) (*TuningResult, error) {
	change, err := tried(in.Catalogue, in.Change)
	if err != nil {
		return nil, err
	}
	before := tuning.Apply(in.Catalogue, in.Region, in.InForce)
	after := tuning.Apply(in.Catalogue, in.Region, append(slices.Clone(in.InForce), change))
	old, _ := before.Model(change.Model)
	changed, ok := after.Model(change.Model)
	if !ok || len(after.Of(change.Model)) == 0 || !slices.ContainsFunc(after.Of(change.Model), func(t tuning.Tuning) bool { return t.Tuned == change.Tuned }) {
		return nil, fmt.Errorf("try %s on %s: together with the region's other changes the rule cannot have it", change.Tuned, change.Model)
	}
	r := &TuningResult{Change: in.Change}
	r.Change.Published = change.Published
	if r.Was, err = tuning.Value(old, change.What, change.Stage); err != nil {
		return nil, fmt.Errorf("try a change of %s: %w", change.Model, err)
	}
	seasons := in.seasons(old, changed, r)
	noise := func(i int) func() float64 { return rand.New(rand.NewPCG(uint64(i), 5)).NormFloat64 } //nolint:gosec // no secret hangs on it
	assumed := replay.Assumed{Days: trialForecast, Error: outlook.StatedError(), Versions: trialVersions}
	if r.Comparison, err = tuning.Compare(old, changed, seasons, assumed, replay.Policy{}, noise); err != nil {
		return nil, err
	}
	r.Record(&r.Change)
	r.Notes = append(r.Notes, fmt.Sprintf("where no forecast was kept, the %d days that followed stand in with errors of temperature, humidity and rain (from memory); other years of a site, earlier and later ones, stand for what may have come", trialForecast))
	r.draw(change)
	return r, nil
}

// tried fills in what a trial may leave out and checks the change.
func tried(cat *catalog.Catalogue, t tuning.Tuning) (tuning.Tuning, error) {
	if t.Who == "" {
		t.Who = "nobody yet"
	}
	if t.Why == "" {
		t.Why = "a trial"
	}
	if t.When.IsZero() {
		t.When = 1
	}
	return tuning.New(cat, t)
}

// seasons makes a case for each season of each site that has a log.
func (in *TuningTrial) seasons(old, changed *catalog.Model, r *TuningResult) []tuning.Season {
	var out []tuning.Season
	threat, ok := in.Catalogue.ByID(old.Threat)
	if !ok {
		return nil
	}
	for i := range in.Sites {
		s := &in.Sites[i]
		years := loggedYears(s, threat.ID, in.Today)
		if len(years) == 0 {
			r.Notes = append(r.Notes, fmt.Sprintf("%s: no season that is over has a log of %s that may be used", s.Site.Name, threat.Name))
			continue
		}
		ground, err := replay.NewGround(s.Site, s.Weather, s.Forecasts)
		if err != nil {
			r.Notes = append(r.Notes, err.Error())
			continue
		}
		crop := attacked(s.Site, threat)
		for _, log := range years {
			made, why := cases(ground, s.Site, threat, crop, log, old, changed)
			name := s.Site.Name
			if !s.mayName(threat.ID, log) {
				name = unnamed
			}
			if why != "" {
				r.Notes = append(r.Notes, fmt.Sprintf("%s %d: left out, %s", name, log.Year, why))
				continue
			}
			out = append(out, tuning.Season{
				Site: s.Site.ID, Name: name, Year: log.Year, Chosen: !slices.Contains(in.HeldOut, log.Year),
				Case: func(m *catalog.Model) (*replay.Case, error) {
					c, ok := made[m]
					if !ok {
						return nil, errors.New("no such model in this trial")
					}
					return c, nil
				},
			})
		}
	}
	return out
}

// cases makes the replays of both models over one season, or says why not.
func cases(g *replay.Ground, site *garden.Site, threat *catalog.Threat, crop *garden.Planting, log *learn.Season, models ...*catalog.Model) (map[*catalog.Model]*replay.Case, string) {
	if err := g.Has(log.Year); err != nil {
		return nil, err.Error()
	}
	out := map[*catalog.Model]*replay.Case{}
	for _, m := range models {
		if m.Spec.Start().Kind == model.FromCatch {
			return nil, "the rule counts from a find, and the log is what it is held against"
		}
		c, why := g.Case(replay.Asked{Name: fmt.Sprintf("%s %d, %s", site.Name, log.Year, threat.Name), Season: log.Year, Spec: m.Spec, Crop: crop, Log: log})
		if why != "" {
			return nil, why
		}
		if !log.Found() {
			c.To = min(c.To, log.None)
		} else if log.First <= c.From || log.First > c.To {
			return nil, "the find does not lie in the days that the rule counts"
		}
		if c.To <= c.From {
			return nil, "the log ends before the rule begins"
		}
		out[m] = c
	}
	return out, ""
}

// unnamed stands for a site whose growers do not show their log.
const unnamed = "a site that is not named"

// mayName says whether the looks that may be shown tell the same of a season.
func (s *TuningSite) mayName(threat string, log *learn.Season) bool {
	if s.Named == nil {
		return true
	}
	open := slices.DeleteFunc(slices.Clone(s.Scoutings), func(x garden.Scouting) bool { return !s.Named(x) })
	for _, x := range learn.Earliest(learn.Seasons(threat, learn.Where{Site: s.Site}, open, s.Treatments)) {
		if x.Year == log.Year {
			return x.First == log.First && x.None == log.None
		}
	}
	return false
}

// loggedYears returns, for each season that is over, what the site's log says.
func loggedYears(s *TuningSite, threat string, today civil.Date) []*learn.Season {
	all := learn.Seasons(threat, learn.Where{Site: s.Site, Before: seasonStart(s.Site, today)}, s.Scoutings, s.Treatments)
	return learn.Earliest(all)
}

// attacked returns a planting of the site that the threat comes to; nil when
// there is none.
func attacked(site *garden.Site, t *catalog.Threat) *garden.Planting {
	for i := range site.Plots {
		for j := range site.Plots[i].Plantings {
			if p := &site.Plots[i].Plantings[j]; t.Attacks(p.Crop) {
				return p
			}
		}
	}
	return nil
}

// draw makes the drawings.
func (r *TuningResult) draw(change tuning.Tuning) {
	if r.Comparison.Seasons == 0 {
		return
	}
	title := fmt.Sprintf("%s: %s, then %s", change.Model, r.Was, change.Tuned)
	if r.Old.At[0].Dated+r.Old.At[1].Dated+r.Old.At[2].Dated > 0 {
		r.Drawings = append(r.Drawings, Drawing{"errors", replay.SideBySideSVG(title, r.Old, r.New)})
	}
	middle := len(r.Old.Horizons) / 2 // 21 days
	for _, x := range []struct {
		name  string
		score *replay.Score
	}{{"chances-before", &r.Old}, {"chances-after", &r.New}} {
		if h := x.score.Horizons[middle]; h.N > 0 {
			r.Drawings = append(r.Drawings, Drawing{x.name, replay.ReliabilitySVG(title, h)})
		}
	}
	for i := range r.Rows {
		row := &r.Rows[i]
		if row.OldRun.Case.Infection || row.Site == unnamed {
			continue // a rule of infections names no first date
		}
		name := fmt.Sprintf("%02d-%d", i+1, row.Year)
		if svg := replay.FanSVG(row.OldRun); svg != "" {
			r.Drawings = append(r.Drawings, Drawing{name + "-before", svg})
		}
		if svg := replay.FanSVG(row.NewRun); svg != "" {
			r.Drawings = append(r.Drawings, Drawing{name + "-after", svg})
		}
	}
}
