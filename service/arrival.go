package service

import (
	"slices"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/learn"
	"plotwarden/risk/model"
	"plotwarden/risk/outlook"
)

// arrival learns from the log when the threat comes to this plot, with what
// neighbours share. It is nil when no past season of either has a find. fan is the
// model's; nil where there is none.
func (v *siteView) arrival(c *plan.Case, fan *outlook.Fan) *plan.Arrival {
	season := seasonStart(v.site, v.today)
	in := learn.Input{Threat: c.Threat.ID, SeasonStart: v.site.Season(), Place: learn.Place{Region: v.region, Ground: v.site.ID, Plot: c.Plot.ID}}
	// A look that names no plot is the whole ground's.
	own := func(s *learn.Season) bool { return s.Place.Plot == "" || s.Place.Plot == c.Plot.ID }
	for _, s := range learn.Seasons(c.Threat.ID, learn.Where{Site: v.site, Region: v.region, Before: season}, v.seen, v.done) {
		if own(&s) {
			in.Seasons = append(in.Seasons, s)
		}
	}
	start := v.site.Season()
	if c.Model != nil && c.Model.Spec.Start().Kind == model.FromCalendar {
		_, m, d := calendarStart(v.site, c.Model.Spec.Start().Day, v.today).YMD()
		start = civil.MonthDay{Month: m, Day: d}
	}
	// Of other people's plots only what they share.
	v.pool(c, &in, own, start)
	if found := (*learn.Season).Found; !slices.ContainsFunc(pointers(in.Seasons), found) && !slices.ContainsFunc(pointers(in.Neighbours), found) {
		return nil
	}
	// Totals can be compared between years only where the count starts on the
	// same day of each; other rules leave the log's dates alone.
	if c.Model == nil || c.Model.Spec.Start().Kind != model.FromCalendar {
		fan = nil
	}
	if fan != nil {
		in.Model, in.Unit, in.Published = c.Model.ID, c.Model.Spec.Unit(), v.published(c)
		if t := v.pasts.get(v, c).track; t != nil {
			in.Curves = learn.CurvesOf(t, start)
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

// published returns the first stage's total as it was published: what a region
// made of it came of logs like this one, and would count twice.
func (v *siteView) published(c *plan.Case) float64 {
	st := c.Stages[0]
	if v.tuned == nil {
		return st.Value
	}
	if m, ok := v.tuned.Published.Model(c.Model.ID); ok {
		for _, s := range m.Spec.Stages() {
			if s.Name == st.Name {
				return s.Value
			}
		}
	}
	return st.Value
}

func pointers(list []learn.Season) []*learn.Season {
	out := make([]*learn.Season, len(list))
	for i := range list {
		out[i] = &list[i]
	}
	return out
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
