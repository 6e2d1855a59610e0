package service

import (
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/learn"
	"plotwarden/risk/model"
	"plotwarden/risk/outlook"
)

// arrival learns from the log when the threat comes to this plot. It is nil when
// no past season has a find. fan is the model's; nil where there is none.
func (v *siteView) arrival(c *plan.Case, fan *outlook.Fan) *plan.Arrival {
	season := seasonStart(v.site, v.today)
	in := learn.Input{Threat: c.Threat.ID, SeasonStart: v.site.Season(), Place: learn.Place{Ground: v.site.ID, Plot: c.Plot.ID}}
	finds := 0
	// A look that names no plot is the whole ground's.
	own := func(s *learn.Season) bool { return s.Place.Plot == "" || s.Place.Plot == c.Plot.ID }
	for _, s := range learn.Seasons(c.Threat.ID, learn.Where{Site: v.site, Before: season}, v.seen, v.done) {
		if !own(&s) {
			continue
		}
		in.Seasons = append(in.Seasons, s)
		if s.Found() {
			finds++
		}
	}
	// Of other people's plots only what they share.
	for _, s := range learn.Seasons(c.Threat.ID, learn.Where{Site: v.site, Before: season, SharedOnly: true}, v.seen, v.done) {
		if !own(&s) {
			in.Neighbours = append(in.Neighbours, s)
		}
	}
	if finds == 0 {
		return nil
	}
	// Totals can be compared between years only where the count starts on the
	// same day of each; other rules leave the log's dates alone.
	if c.Model == nil || c.Model.Spec.Start().Kind != model.FromCalendar {
		fan = nil
	}
	if fan != nil {
		in.Model, in.Unit, in.Published = c.Model.ID, c.Model.Spec.Unit(), c.Stages[0].Value
		if t := v.pasts.get(v, c).track; t != nil {
			_, m, d := calendarStart(v.site, c.Model.Spec.Start().Day, v.today).YMD()
			in.Curves = learn.CurvesOf(t, civil.MonthDay{Month: m, Day: d})
		}
	}
	a, err := learn.Learn(in)
	if err != nil {
		v.log.Warn("nothing learned from the log", "site", v.site.ID, "threat", c.Threat.ID, "error", err)
		return nil
	}
	run := learn.Running{Today: v.today, Season: season, None: lastNone(c.Scoutings), Fan: fan}
	if fan != nil {
		run.Track = c.Track
	}
	o, err := a.Outlook(run)
	if err != nil {
		v.log.Warn("no outlook from the log", "site", v.site.ID, "threat", c.Threat.ID, "error", err)
		return nil
	}
	return &plan.Arrival{Learned: a, Outlook: o}
}

// lastNone is the season's last look that found none.
func lastNone(seen []garden.Scouting) (d civil.Date) {
	for _, s := range seen {
		if s.Finding == garden.None {
			d = s.Date
		}
	}
	return d
}
