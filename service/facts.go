package service

import (
	"slices"
	"sync"
	"time"

	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/plan/season"
	"plotwarden/risk/planting"
	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

// siteFacts are what a round works out once for all plantings of a site.
type siteFacts struct {
	days  []weather.Day
	wet   map[garden.Cover][]wetness.State
	frost frostYears
}

// sharpen gives a case what makes steps and states sharper: the soil's days, how
// long leaves were wet under the planting's own cover, and the last pick.
func (v *siteView) sharpen(c *plan.Case) {
	if v.facts.days == nil {
		v.facts.days = v.hours.Days(v.zone)
	}
	c.Days = v.facts.days
	c.WetSince = func(t time.Time) (hours, unknown int) { return v.wetSince(c.Planting.Cover, t) }
	c.LastPick = plan.LastPick(c.Planting, v.facts.frost.autumn, v.today)
}

// wetSince counts the hours of wet leaves from an instant to now, and those of
// which it is not known.
func (v *siteView) wetSince(cover garden.Cover, t time.Time) (hours, unknown int) {
	states, ok := v.facts.wet[cover]
	if !ok {
		if v.facts.wet == nil {
			v.facts.wet = map[garden.Cover][]wetness.State{}
		}
		states = (wetness.Rule{Method: wetness.Humidity}).Estimate(v.hours, cover, nil, nil)
		v.facts.wet[cover] = states
	}
	from, to := max(0, v.hours.Index(t)), min(len(states), v.hours.Index(v.now))
	if from >= to {
		return 0, 0
	}
	return wetness.Count(states[from:to])
}

// frostYears are when past seasons had their frosts.
type frostYears struct{ spring, autumn planting.Chances }

// frosts keeps them for the pages, by site, for as long as the past weather is the
// same.
type frosts struct {
	mu sync.Mutex
	of map[string]keptFrost
}

type keptFrost struct {
	years frostYears
	hours int       // of past weather behind it
	from  time.Time // its first
}

// learn works out the frosts of a site's past years where they are not known yet.
func (f *frosts) learn(site *garden.Site, past *weather.Series) frostYears {
	f.mu.Lock()
	defer f.mu.Unlock()
	if past == nil || past.Len() == 0 {
		return f.of[site.ID].years
	}
	k, ok := f.of[site.ID]
	if ok && k.hours == past.Len() && k.from.Equal(past.Start()) {
		return k.years
	}
	ss := planting.Seasons(past.Days(site.Location()), planting.Frost, site.Latitude)
	k = keptFrost{frostYears{planting.FrostChances(ss, planting.LastOfSpring, site.Latitude), planting.FrostChances(ss, planting.FirstOfAutumn, site.Latitude)}, past.Len(), past.Start()}
	if f.of == nil {
		f.of = map[string]keptFrost{}
	}
	f.of[site.ID] = k
	return k.years
}

// Frosts returns when past seasons of a site had their last frost of spring and
// their first of autumn; nothing before the first round.
func (s *Service) Frosts(site string) (spring, autumn planting.Chances) {
	s.frost.mu.Lock()
	defer s.frost.mu.Unlock()
	k := s.frost.of[site]
	return k.years.spring, k.years.autumn
}

// reminders are the work that follows earlier work and falls due today or
// tomorrow, with the frost nights to cover for.
func (v *siteView) reminders(records []garden.Record) []plan.Reminder {
	end := (v.today + 2).Start(v.zone)
	var out []plan.Reminder
	for _, r := range plan.Reminders(records, v.materials, v.today.Start(v.zone), v.zone) {
		if r.At.Before(end) {
			out = append(out, r)
		}
	}
	if v.facts.days == nil {
		v.facts.days = v.hours.Days(v.zone)
	}
	for _, t := range season.FrostTasks(v.site, season.FrostNights(v.site, v.facts.days, v.today)) {
		if t.By <= v.today+1 {
			out = append(out, plan.Reminder{At: t.By.Slot(duskHour, 0, v.zone).UTC(), Text: t.Text})
		}
	}
	slices.SortStableFunc(out, func(a, b plan.Reminder) int { return a.At.Compare(b.At) })
	return out
}

// duskHour is when a reminder to cover stands in a message; its text says before
// dusk.
const duskHour = 17
