package plan

import (
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

// SprayDays is how far ahead spray hours are judged.
const SprayDays = 7

// noWindow is after how many hours without a good one the cultural step is given
// instead (derived).
const noWindow = 48 * time.Hour

// SprayQuery asks for the hours in which one material may be sprayed on one
// planting.
type SprayQuery struct {
	Site     *garden.Site
	Crop     string
	Material *garden.Material // nil: the general limits alone
	Series   *weather.Series
	Wet      []wetness.State // of every hour of Series
	Now      time.Time
	Bloom    garden.Bloom // whether anything is in flower there, weeds too
	People   []QuietTime  // when others are on the ground
	Limits   SprayLimits
	Work     []Step // what may be done instead, best first
}

// QuietTime is a local time in which nothing is sprayed because people are about.
// It may run over midnight. No days means every day.
type QuietTime struct {
	From garden.ClockTime `yaml:"from" json:"from"`
	To   garden.ClockTime `yaml:"to" json:"to"`
	Days []time.Weekday   `yaml:"-" json:"days,omitempty"`
	Why  string           `yaml:"why" json:"why,omitempty"` // "open day"
}

// QuietTimes returns the site's hours in which others are on the ground.
func QuietTimes(site *garden.Site) []QuietTime {
	out := make([]QuietTime, len(site.PeopleHours))
	for i := range site.PeopleHours {
		p := &site.PeopleHours[i]
		out[i] = QuietTime{From: p.From, To: p.To, Days: p.On(), Why: p.Why}
	}
	return out
}

// covers says whether the time from a to b touches the quiet time.
func (q *QuietTime) covers(a, b time.Time, loc *time.Location) bool {
	for d := civil.Of(a, loc) - 1; d <= civil.Of(b, loc); d++ {
		if len(q.Days) > 0 && !containsDay(q.Days, d.Weekday()) {
			continue
		}
		from, to := q.From.On(d, loc), q.To.On(d, loc)
		if !to.After(from) {
			to = q.To.On(d+1, loc)
		}
		if a.Before(to) && from.Before(b) {
			return true
		}
	}
	return false
}

func containsDay(ds []time.Weekday, d time.Weekday) bool {
	for _, x := range ds {
		if x == d {
			return true
		}
	}
	return false
}

// Objection is one thing that stands against an hour, or that warns in it.
type Objection struct {
	Code   string      `json:"code"` // short and stable: "wind", "inversion"
	Text   string      `json:"text"` // plain words with the numbers
	Value  float64     `json:"value,omitempty"`
	Limit  float64     `json:"limit,omitempty"`
	Unit   string      `json:"unit,omitempty"` // of Value and Limit; empty: there are none
	Source risk.Source `json:"source"`
}

// SprayHour is one hour's verdict.
type SprayHour struct {
	From    time.Time   `json:"from"` // UTC
	To      time.Time   `json:"to"`
	Good    bool        `json:"good"`
	Unknown bool        `json:"unknown,omitempty"` // weather for it is missing; it is then not good
	Evening bool        `json:"evening,omitempty"` // within the hour before sunset, when bees have gone home
	Why     []Objection `json:"why,omitempty"`     // what stands against it
	Warn    []Objection `json:"warn,omitempty"`    // what to mind in it
}

// SprayWeek is the coming days by the hour.
type SprayWeek struct {
	Material  string      `json:"material,omitempty"`
	Hours     []SprayHour `json:"hours"`
	FirstGood time.Time   `json:"firstGood,omitzero"`
	// Conflicts say where two rules pull against each other.
	Conflicts []string `json:"conflicts,omitempty"`
	Cautions  []string `json:"cautions"`
	// Instead is the work to do when no hour fits within 48 hours; nil when one
	// does.
	Instead *Step `json:"instead,omitempty"`
}

// SprayHours judges the coming SprayDays by the hour. An hour is good when
// nothing stands against it; what is not known stands against it.
func SprayHours(q SprayQuery) SprayWeek {
	j := newSprayJudge(&q)
	w := SprayWeek{Cautions: j.cautions()}
	if q.Material != nil {
		w.Material = q.Material.Label()
	}
	from := q.Now.Truncate(time.Hour)
	for t := from; t.Before(from.Add(SprayDays * 24 * time.Hour)); t = t.Add(time.Hour) {
		h := j.hour(t)
		if h.Good && w.FirstGood.IsZero() {
			w.FirstGood = h.From
		}
		w.Hours = append(w.Hours, h)
	}
	w.Conflicts = conflicts(w.Hours, q.Bloom, j.zone)
	if w.FirstGood.IsZero() || w.FirstGood.Sub(q.Now) > noWindow {
		s := instead(&q, w.Hours)
		w.Instead = &s
	}
	return w
}
