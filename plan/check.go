package plan

import (
	"cmp"
	"slices"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

// Level is how much a check stands against a treatment.
type Level string

// The levels, the gravest first.
const (
	Stop Level = "stop" // against the label or a published rule
	Warn Level = "warn" // mind this
	Ask  Level = "ask"  // something is not said that has to be known
)

// Check is one finding about a treatment that is about to be logged. The grower
// decides; nothing is refused.
type Check struct {
	Level  Level       `json:"level"`
	Code   string      `json:"code"` // short and stable: "too soon", "oil and sulfur"
	Text   string      `json:"text"`
	Source risk.Source `json:"source"`
}

// TreatmentCheck is what a check looks at.
type TreatmentCheck struct {
	Site     *garden.Site
	Planting *garden.Planting
	Record   *garden.Record    // about to be logged; its Start decides all times
	Material *garden.Material  // of the grower's list; nil: free text
	Mix      []garden.Material // what else is in the same tank
	History  []garden.Record   // records that stand (garden.Current), of the whole site
	Own      []garden.Material
	// HarvestOn is the next day on which the grower means to pick; zero is not
	// said.
	HarvestOn civil.Date
	Series    *weather.Series // may be nil
	Wet       []wetness.State // of every hour of Series
	People    []QuietTime
}

// CheckTreatment returns what stands against a treatment, the gravest first.
// Limits are those that the grower typed from the label; a published rule or the
// general screen stands in where its text says so.
func CheckTreatment(q TreatmentCheck) []Check {
	c := &checker{q: &q, day: civil.Of(q.Record.Start, q.Site.Location())}
	c.label()
	c.times()
	c.oilAndSulfur()
	c.mix()
	c.harvest()
	c.hour()
	c.bloom()
	c.homeMix()
	c.firstUse()
	slices.SortStableFunc(c.out, func(a, b Check) int { return cmp.Compare(levelRank(a.Level), levelRank(b.Level)) })
	return c.out
}

func levelRank(l Level) int { return slices.Index([]Level{Stop, Warn, Ask}, l) }

type checker struct {
	q   *TreatmentCheck
	day civil.Date // local date of the treatment
	out []Check
}

func (c *checker) add(l Level, code, text string, s risk.Source) {
	c.out = append(c.out, Check{l, code, text, s})
}

// uses returns the earlier and later treatments of the planting that stand
// beside this one, tests on a few leaves left out.
func (c *checker) uses() []garden.Record {
	var out []garden.Record
	for _, r := range c.q.History {
		if r.Planting == c.q.Planting.ID && r.ID != c.q.Record.ID && r.ID != c.q.Record.Replaces && !r.Test && r.Sprayed() {
			out = append(out, r)
		}
	}
	return out
}

// sameMaterial says whether a record is of the same material or the same active
// ingredient: labels of one ingredient share their maxima more often than not
// (from memory), so the cautious reading counts both.
func (c *checker) sameMaterial(r *garden.Record) bool {
	m := c.q.Material
	if m == nil {
		return r.Product != "" && r.Product == c.q.Record.Product
	}
	if r.Material == m.ID {
		return true
	}
	in := IngredientOf(m.Ingredient)
	return m.Ingredient != "" && (r.Ingredient == m.Ingredient || in != nil && in == IngredientOf(r.Ingredient))
}

func (c *checker) local(r *garden.Record) civil.Date {
	return civil.Of(r.Start, c.q.Site.Location())
}

// apart returns how many days lie between a record and this treatment, either
// way.
func (c *checker) apart(r *garden.Record) int {
	d := c.day.Sub(c.local(r))
	return max(d, -d)
}

func (c *checker) date(t time.Time) string { return day(civil.Of(t, c.q.Site.Location())) }

var restSource = risk.Source{Text: "common practice", Standing: risk.CommonPractice}
