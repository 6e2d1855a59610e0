package replay

import (
	"fmt"
	"math"
	"time"

	"plotwarden/civil"
	"plotwarden/risk"
	"plotwarden/risk/learn"
	"plotwarden/risk/model"
	"plotwarden/risk/outlook"
)

// Case is one rule at one place in one season.
type Case struct {
	Name   string // "Seattle 2014"
	Record *Record
	Spec   model.Spec
	Input  model.Input // cultivar, cover, sprays that were made; its weather and start are not looked at
	Start  civil.Date  // first day that the rule counts
	// From and To are the first and the last day of issue. From is after Start.
	From, To civil.Date
	// SprayFrom and SprayTo are the days of the crop: sprays outside are not
	// counted, and the fixed calendar runs from one to the other. Zero: From and To.
	SprayFrom, SprayTo civil.Date

	Event     string
	Threshold float64
	Infection bool // the event is each infection, and not a threshold
	// History is the rule over the other years. The season itself is left out of
	// it by the outlook; whether later years may be in it is the caller's choice,
	// and has to be said with the result. nil: none.
	History *outlook.History
	// Log is what the grower found that season; nil: what counts as having come is
	// what the rule says over the measured weather. Of a rule that names infections
	// it is the first find that came, days after its infection: see Policy.Within.
	Log *learn.Season
	// Learnt, when set, predicts in the rule's stead: an estimate from other
	// seasons of the log.
	Learnt *learn.Arrival
}

// Result is what was said day by day, and what came.
type Result struct {
	Case   *Case
	Issues []Issue
	Came   []civil.Date // in order; a threshold has at most one
	// Until is the last day of which it is known whether the event came.
	Until  civil.Date
	Sprays []civil.Date // that the rule named
}

// Issue is what was said on one day.
type Issue struct {
	Day     civil.Date
	Outlook risk.Outlook
	Warned  bool
}

// Policy turns outlooks into warnings and sprays.
type Policy struct {
	// Warn says whether an outlook is a warning; nil is EarlyWithin(14).
	Warn func(o *risk.Outlook) bool
	// Within is in how many days after a warning began the event has to come for
	// it to have been no false alarm; 0 is 42, for infections 7, or 21 where they
	// are held against finds (from memory: spots show one to three weeks after the
	// infection).
	Within int
	// SprayDays is how long a spray protects, and how far apart those of the fixed
	// calendar are; 0 is 7.
	SprayDays int
}

// EarlyWithin warns when the early date, 10 %, is at most so many days away.
func EarlyWithin(days int) func(*risk.Outlook) bool {
	return func(o *risk.Outlook) bool {
		return !o.P10.IsZero() && o.Reached.IsZero() && o.P10.Sub(o.Issued) <= days
	}
}

// LikelyWithin warns when half of the forecast has the event within some days.
func LikelyWithin(days int) func(*risk.Outlook) bool {
	return func(o *risk.Outlook) bool {
		return !o.P50.IsZero() && o.P50 <= o.ForecastTo && o.P50.Sub(o.Issued) <= days
	}
}

func (p Policy) filled(c *Case) Policy {
	if p.Warn == nil {
		p.Warn = EarlyWithin(14)
		if c.Infection {
			p.Warn = LikelyWithin(3)
		}
	}
	if p.Within == 0 {
		switch {
		case !c.Infection:
			p.Within = 42
		case c.Log != nil:
			p.Within = 21
		default:
			p.Within = 7
		}
	}
	if p.SprayDays == 0 {
		p.SprayDays = 7
	}
	return p
}

// Run replays a case.
func Run(c *Case, a Assumed, p Policy) (*Result, error) {
	p = p.filled(c)
	first, last, err := c.Record.span()
	if err != nil {
		return nil, fmt.Errorf("replay %s: %w", c.Name, err)
	}
	if c.From <= c.Start || c.From < first || c.To > last || c.To < c.From {
		return nil, fmt.Errorf("replay %s: days of issue %s to %s do not lie within the record, %s to %s, and after the rule's start, %s", c.Name, c.From, c.To, first, last, c.Start)
	}
	if a.Noise != nil && a.Days > 0 {
		a.usual = usualOf(c.Record, c.Start)
	}
	r := &Result{Case: c}
	season := c.Record.from(c.Start.AddDays(-known - 1))
	if err := r.whatCame(season, last); err != nil {
		return nil, fmt.Errorf("replay %s: %w", c.Name, err)
	}
	for d := c.From; d <= c.To; d++ {
		if (!c.Infection || c.Log != nil) && len(r.Came) > 0 && d > r.Came[0] {
			break
		}
		o, err := c.issue(season, d, a)
		if err != nil {
			return nil, fmt.Errorf("replay %s on %s: %w", c.Name, d, err)
		}
		r.Issues = append(r.Issues, Issue{d, o, p.Warn(&o)})
	}
	named, err := c.sprays(season, r.Issues, p)
	if err != nil {
		return nil, fmt.Errorf("replay %s: name sprays: %w", c.Name, err)
	}
	from, to := c.crop()
	for _, d := range named {
		if d >= from && d <= to {
			r.Sprays = append(r.Sprays, d)
		}
	}
	return r, nil
}

// crop returns the days of the crop.
func (c *Case) crop() (from, to civil.Date) {
	from, to = c.From, c.To
	if !c.SprayFrom.IsZero() {
		from = c.SprayFrom
	}
	if !c.SprayTo.IsZero() {
		to = c.SprayTo
	}
	return from, to
}

// from cuts a record's earlier days off.
func (r *Record) from(d civil.Date) *Record {
	out := *r
	if r.Hours != nil {
		out.Hours = r.Hours.Slice(r.Hours.Index(d.Start(r.zone())), r.Hours.Len())
		return &out
	}
	out.Days = r.Days[min(max(0, d.Sub(r.Days[0].Date)), len(r.Days)):]
	return &out
}

// issue makes the outlook of a day.
func (c *Case) issue(season *Record, d civil.Date, a Assumed) (risk.Outlook, error) {
	v, err := season.at(d, a)
	if err != nil {
		return risk.Outlook{}, err
	}
	in := c.input(v.in)
	t, err := c.Spec.Run(&in)
	if err != nil {
		return risk.Outlook{}, err
	}
	var runs []*risk.Track
	if v.versions != nil {
		if runs, err = v.versions.Runs(c.Spec, in); err != nil {
			return risk.Outlook{}, err
		}
	}
	fan := outlook.NewFan(t, runs, c.History)
	if c.Learnt == nil {
		return fan.Outlook(outlook.Question{Event: c.Event, Today: d, Threshold: c.Threshold, Infection: c.Infection}), nil
	}
	now := learn.Running{Today: d, Season: c.Start, Track: t, Fan: fan}
	if c.Log != nil && !c.Log.None.IsZero() && c.Log.None < d {
		now.None = c.Log.None
	}
	return c.Learnt.Outlook(now)
}

func (c *Case) input(weather model.Input) model.Input {
	in := c.Input
	in.Weather, in.Days, in.Zone, in.Now, in.Season = weather.Weather, weather.Days, weather.Zone, weather.Now, nil
	in.Start = c.Start
	return in
}

// measured runs the rule over all that was measured, up to a year from its start.
func (c *Case) measured(season *Record, sprays []civil.Date) (*risk.Track, error) {
	in := c.input(model.Input{Weather: season.Hours, Days: season.Days, Zone: season.zone()})
	if end := c.Start.AddDays(365); season.Hours != nil {
		in.Weather = season.Hours.Slice(0, season.Hours.Index(end.Start(season.zone()).Add(time.Hour-1)))
	} else {
		in.Days = season.Days[:min(len(season.Days), max(0, end.Sub(season.Days[0].Date)))]
	}
	in.Resets = append(append([]civil.Date(nil), in.Resets...), sprays...)
	return c.Spec.Run(&in)
}

// whatCame fills in what came, by the log or by the rule.
func (r *Result) whatCame(season *Record, last civil.Date) error {
	c := r.Case
	if c.Log != nil {
		switch {
		case c.Log.Found():
			middle := c.Log.Middle(c.Start)
			r.Came = []civil.Date{c.Start.AddDays(int(math.Round(middle)))}
			r.Until = last
		case c.Log.Censored():
			r.Until = c.Log.None
		default:
			return fmt.Errorf("the log of %d says nothing", c.Log.Year)
		}
		return nil
	}
	t, err := c.measured(season, nil)
	if err != nil {
		return err
	}
	r.Until = min(last, c.Start.AddDays(364))
	if c.Infection {
		for _, e := range t.Events {
			if e.Kind == risk.Infection && e.Date >= c.From && (len(r.Came) == 0 || e.Date > r.Came[len(r.Came)-1]) {
				r.Came = append(r.Came, e.Date)
			}
		}
		return nil
	}
	for _, p := range t.Points {
		if p.Total >= c.Threshold {
			r.Came = []civil.Date{p.Date}
			break
		}
	}
	return nil
}
