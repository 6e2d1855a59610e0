package replay

import (
	"fmt"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/learn"
	"plotwarden/risk/model"
	"plotwarden/risk/outlook"
	"plotwarden/weather"
)

// Ground is one site's record, made ready once, so that any rule can be replayed
// over any of its seasons. It is for one goroutine at a time.
type Ground struct {
	Site      *garden.Site
	Forecasts func(d civil.Date) *weather.Series // as in Record; may be nil

	zone   *time.Location
	hours  *weather.Series
	days   []weather.Day
	daily  *model.Season
	hourly *model.Season
}

// NewGround takes a site's measured hours, of the seasons to replay and of other
// years. It fails without weather.
func NewGround(site *garden.Site, hours *weather.Series, forecasts func(d civil.Date) *weather.Series) (*Ground, error) {
	g := &Ground{Site: site, Forecasts: forecasts, zone: site.Location(), hours: hours}
	if hours == nil || hours.Len() == 0 {
		return nil, fmt.Errorf("site %s has no weather yet; run the service, or plotwarden refresh, first", site.ID)
	}
	g.days = hours.Days(g.zone)
	var err error
	if g.daily, err = model.NewDaySeason(g.days, g.zone, time.Time{}); err != nil {
		return nil, fmt.Errorf("days of site %s: %w", site.ID, err)
	}
	g.hourly = model.NewSeason(hours, g.zone, hours.End())
	return g, nil
}

// Span returns the first and the last day of the record.
func (g *Ground) Span() (from, to civil.Date) { return g.days[0].Date, g.days[len(g.days)-1].Date }

// leastSeason is how many days of a season the record must have for a replay.
const leastSeason = 60

// Has says whether a season is in the record, or names what is.
func (g *Ground) Has(season int) error {
	from, to := g.Span()
	if first := g.first(season); first < from || first.AddDays(leastSeason) > to {
		return fmt.Errorf("site %s has weather from %s to %s; the season of %d, from %s on, is not in it", g.Site.ID, from, to, season, first)
	}
	return nil
}

func (g *Ground) first(season int) civil.Date { return g.Site.Season().In(season) }

// Asked is a rule to replay over a season.
type Asked struct {
	Name   string // of the replay
	Season int    // year in which it began
	Spec   model.Spec
	// Crop is the planting that brings the threat in; of another year, it stands in
	// with its days of the year. nil: none, and sprays are counted over the whole
	// season.
	Crop *garden.Planting
	// Found is the season's first find, from which rules that start at one count;
	// zero when there is none.
	Found civil.Date
	// Log is what the outlooks are held against; nil: the rule over the measured
	// weather.
	Log *learn.Season
}

// inGroundDays is for how long infections are looked for.
const inGroundDays = 120

// leastKnown is the share of a season's hours of which what a rule needs must be
// known for a replay to say anything.
const leastKnown = 0.8

// Case makes the replay of a rule over a season. Without one, why says why not.
func (g *Ground) Case(a Asked) (c *Case, why string) {
	start, why := g.start(a)
	if why != "" {
		return nil, why
	}
	c = &Case{Name: a.Name, Spec: a.Spec, Start: start, From: start + 1, Log: a.Log}
	if a.Crop != nil {
		c.Input = model.Input{Susceptibility: a.Crop.Susceptibility, Cover: a.Crop.Cover}
	}
	c.Event, c.Infection = "conditions that favour infection", true
	for _, s := range a.Spec.Stages() {
		if s.Holds(c.Input.Susceptibility, false) {
			c.Event, c.Threshold, c.Infection = s.Name, s.Value, false
			break
		}
	}
	past, err := g.history(c)
	if err != nil {
		return nil, err.Error()
	}
	c.History = past
	_, last := g.Span()
	c.To = min(start.AddDays(364), last.AddDays(-1))
	if c.Infection {
		c.To = min(c.To, start.AddDays(inGroundDays))
	}
	if c.To <= c.From {
		return nil, "there is no weather after " + c.From.String()
	}
	if v := g.lacks(a.Spec, c.Start, c.To); v != "" {
		return nil, "the season's weather has no, or too little, " + v
	}
	if d := g.inGround(a); !d.IsZero() {
		days := inGroundDays
		if !a.Crop.Removed.IsZero() {
			days = a.Crop.Removed.Sub(a.Crop.InGround())
		}
		c.SprayFrom, c.SprayTo = d, d.AddDays(days)
	}
	return c, ""
}

// start returns the day from which a rule counts in the season, or says why there
// is none.
func (g *Ground) start(a Asked) (civil.Date, string) {
	s := a.Spec.Start()
	switch s.Kind {
	case model.FromCalendar:
		return g.first(a.Season).AddDays(s.Day.In(2026).Sub(civil.New(2026, time.January, 1))), ""
	case model.FromInGround:
		if d := g.inGround(a); !d.IsZero() {
			return d, ""
		}
		return 0, "its crop has no day on which it went into the ground"
	}
	if !a.Found.IsZero() {
		return a.Found, ""
	}
	what := s.Event
	if what == "" {
		what = "a first catch"
	}
	return 0, "it counts from " + what + ", which the log of that season does not have"
}

// inGround moves the day on which the crop went into the ground to the season.
func (g *Ground) inGround(a Asked) civil.Date {
	if a.Crop == nil || a.Crop.InGround().IsZero() {
		return 0
	}
	_, m, day := a.Crop.InGround().YMD()
	if at := civil.New(a.Season, m, day); at >= g.first(a.Season) {
		return at
	}
	return civil.New(a.Season+1, m, day)
}

// lacks names the first column that the season lacks, or nothing.
func (g *Ground) lacks(spec model.Spec, from, to civil.Date) string {
	a, z := g.hours.Index(from.Start(g.zone)), g.hours.Index(to.Start(g.zone))
	for _, v := range spec.Needs() {
		known := 0
		for i := max(0, a); i < min(z, g.hours.Len()); i++ {
			if x := g.hours.Value(v, i); x == x { // not NaN
				known++
			}
		}
		if float64(known) < leastKnown*float64(z-a) {
			return v.String()
		}
	}
	return ""
}

// history runs the rule over all years, by the day if it can, and picks the
// record that the replay is run on accordingly.
func (g *Ground) history(c *Case) (*outlook.History, error) {
	in := c.Input
	in.Start, in.Zone = g.days[0].Date.AddDays(2), g.zone
	t, err := g.daily.Run(c.Spec, &in)
	c.Record = &Record{Days: g.days, Zone: g.zone, Forecasts: g.Forecasts}
	if err != nil {
		t, err = g.hourly.Run(c.Spec, &in)
		c.Record = &Record{Hours: g.hours, Zone: g.zone, Forecasts: g.Forecasts}
	}
	if err != nil {
		return nil, err
	}
	return outlook.NewHistory(t), nil
}
