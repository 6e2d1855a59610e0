package tuning

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"plotwarden/risk/catalog"
	"plotwarden/risk/replay"
)

// Season is one logged season of one site, to be replayed with the old and with
// the new rule.
type Season struct {
	Site string // its id
	Name string // of the site, as rows have it; empty: Site
	Year int
	// Case makes the replay for a model: its Spec, Start, Threshold and History are
	// the model's, the rest the season's. It has a Log, or the season is no test.
	Case func(m *catalog.Model) (*replay.Case, error)
	// Chosen says that the number was chosen with this season in view: what it says
	// for the change is no proof.
	Chosen bool
}

// Row is one season side by side.
type Row struct {
	Site     string // its name
	Year     int
	Chosen   bool
	Old, New replay.Score
	// What was said day by day, for drawings.
	OldRun, NewRun *replay.Result
}

// Comparison is the old and the new rule side by side.
type Comparison struct {
	Rows     []Row
	Old, New replay.Score // over all rows
	Seasons  int          // with a log
	Sites    int
	Warnings []string // where the data cannot support the change
}

// Few is the number of seasons below which a change is warned of.
const Few = 5

// lead is the place in replay.Leads of the lead by which rows are compared.
const lead = 1

// Compare replays every season with the old model, the published one or the one
// in force so far, and with the tuned one.
// noise is asked for a new source of draws for each replay and given the season's
// index, so that old and new get the same ones.
func Compare(old, tuned *catalog.Model, seasons []Season, a replay.Assumed, p replay.Policy, noise func(i int) func() float64) (*Comparison, error) {
	c := &Comparison{}
	var olds, news []*replay.Result
	sites := map[string]bool{}
	unlogged := 0
	for i, s := range seasons {
		var pair [2]*replay.Result
		for k, m := range []*catalog.Model{old, tuned} {
			x, err := s.Case(m)
			if err != nil {
				return nil, fmt.Errorf("compare %s at %s in %d: %w", m.ID, s.Site, s.Year, err)
			}
			if x.Log == nil {
				break
			}
			if noise != nil {
				a.Noise = noise(i)
			}
			if pair[k], err = replay.Run(x, a, p); err != nil {
				return nil, fmt.Errorf("compare %s: %w", m.ID, err)
			}
		}
		if pair[1] == nil {
			unlogged++ // there the rule would be its own judge
			continue
		}
		olds, news = append(olds, pair[0]), append(news, pair[1])
		sites[s.Site] = true
		c.Rows = append(c.Rows, Row{cmp.Or(s.Name, s.Site), s.Year, s.Chosen, replay.ScoreOf(p, pair[0]), replay.ScoreOf(p, pair[1]), pair[0], pair[1]})
	}
	c.Old, c.New = replay.ScoreOf(p, olds...), replay.ScoreOf(p, news...)
	c.Seasons, c.Sites = len(c.Rows), len(sites)
	c.warn(unlogged)
	return c, nil
}

// warn says where the seasons cannot support the change.
func (c *Comparison) warn(unlogged int) {
	add := func(format string, args ...any) { c.Warnings = append(c.Warnings, fmt.Sprintf(format, args...)) }
	if c.Seasons == 0 {
		add("no season has a log: nothing speaks for this change")
		return
	}
	if c.Seasons < Few {
		add("only %s: fewer than %d cannot tell a better number from luck", plural(c.Seasons, "logged season"), Few)
	}
	if c.Sites == 1 && c.Seasons > 1 {
		add("all seasons are of one site: elsewhere in the region the number may be another")
	}
	fresh := slices.DeleteFunc(slices.Clone(c.Rows), func(r Row) bool { return r.Chosen })
	switch {
	case len(fresh) == 0:
		add("every season was in view when the number was chosen: a number fits the seasons that it was fitted to; wait for one that it has not seen")
	case len(fresh) < c.Seasons:
		if old, now, n := meanErrors(fresh); n > 0 && now >= old {
			add("over the %s that it was not chosen on, the new number is no better: %.1f days against %.1f", plural(n, "season"), now, old)
		}
	}
	if old, now, n := meanErrors(c.Rows); n > 0 && now >= old {
		add("the new number is no better: %.1f days of error %d days ahead against %.1f", now, replay.Leads[lead], old)
	} else if n >= 3 && !c.beyondChance() {
		add("the seasons differ so much among themselves that the gain, %.1f days of error against %.1f, is within chance", now, old)
	}
	if _, _, n := meanErrors(c.Rows); n == 0 && c.New.Misses+c.New.FalseAlarms >= c.Old.Misses+c.Old.FalseAlarms {
		add("the new number is no better: %d missed and %d false alarms, against %d and %d", c.New.Misses, c.New.FalseAlarms, c.Old.Misses, c.Old.FalseAlarms)
	}
	if c.New.Misses > c.Old.Misses {
		add("the new number misses %s that the old one warned of", plural(c.New.Misses-c.Old.Misses, "arrival"))
	}
	if unlogged > 0 {
		add("%s had no log and %s left out", plural(unlogged, "season"), were(unlogged))
	}
}

// pairs returns the errors of old and new of the rows that have both.
func pairs(rows []Row) (old, now []float64) {
	for i := range rows {
		o, n := rows[i].Old.At[lead].Error, rows[i].New.At[lead].Error
		if !math.IsNaN(o) && !math.IsNaN(n) {
			old, now = append(old, o), append(now, n)
		}
	}
	return old, now
}

func meanErrors(rows []Row) (old, now float64, n int) {
	o, w := pairs(rows)
	for i := range o {
		old += o[i] / float64(len(o))
		now += w[i] / float64(len(o))
	}
	return old, now, len(o)
}

// beyondChance says whether the mean gain is more than twice its standard error.
func (c *Comparison) beyondChance() bool {
	o, w := pairs(c.Rows)
	n := float64(len(o))
	mean, square := 0.0, 0.0
	for i := range o {
		mean += (o[i] - w[i]) / n
	}
	for i := range o {
		d := o[i] - w[i] - mean
		square += d * d
	}
	return mean > 2*math.Sqrt(square/(n-1)/n)
}

// Record puts the comparison into a change, as it is saved.
func (c *Comparison) Record(t *Tuning) {
	t.Seasons, t.Sites, t.Warnings = c.Seasons, c.Sites, c.Warnings
	o, n := c.Old.At[lead], c.New.At[lead]
	if o.Dated > 0 && n.Dated > 0 {
		t.Result = fmt.Sprintf("%d days ahead the median was off by %.1f days before and %.1f after; hits %d and %d, misses %d and %d, false alarms %d and %d",
			replay.Leads[lead], o.Error, n.Error, c.Old.Hits, c.New.Hits, c.Old.Misses, c.New.Misses, c.Old.FalseAlarms, c.New.FalseAlarms)
	}
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

func were(n int) string {
	if n == 1 {
		return "was"
	}
	return "were"
}
