package plan

import (
	"fmt"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk"
)

// TestWait is how long a first spray on a few leaves is watched before the rest:
// 48 hours, common practice (24-48 hours: Montreal Space for Life on soap,
// confirmed).
const TestWait = 48 * time.Hour

var testSource = risk.Source{Text: "common practice: a few leaves first and 48 hours (24-48 hours: Montreal Space for Life, on soap)", Standing: risk.CommonPractice}

// firstUse offers a test on a few leaves, and holds the rest until it has been
// watched for long enough.
func (c *checker) firstUse() {
	if c.q.Record.Test || !c.q.Record.Sprayed() && c.q.Material == nil {
		return
	}
	var test, used *garden.Record
	for i := range c.q.History {
		r := &c.q.History[i]
		switch {
		case !c.sameMaterial(r) || r.Crop != c.q.Planting.Crop || !r.Start.Before(c.q.Record.Start):
		case r.Test:
			test = r
		case used == nil || r.Result == garden.Harmed:
			used = r
		}
	}
	if used != nil {
		if used.Result == garden.Harmed {
			c.add(Stop, "harmed", fmt.Sprintf("On %s it harmed leaves of this crop.", c.date(used.Start)), risk.Source{Text: "your log", Standing: risk.Confirmed})
		}
		return
	}
	switch {
	case test == nil:
		c.add(Ask, "first use", "First use of it on this crop: spray a few leaves, log it as a test, and wait 48 hours. No damage, then the rest.", testSource)
	case test.Result == garden.Harmed:
		c.add(Stop, "harmed", fmt.Sprintf("The test of %s harmed leaves: not on this crop.", c.date(test.Start)), risk.Source{Text: "your log", Standing: risk.Confirmed})
	case c.q.Record.Start.Sub(test.Finished()) < TestWait:
		c.add(Stop, "test waits", fmt.Sprintf("The test of %s has not had its 48 hours: wait until %s.", c.date(test.Start), test.Finished().Add(TestWait).In(c.q.Site.Location()).Format("2 Jan 15:04")), testSource)
	case test.Result == "":
		c.add(Ask, "test result", fmt.Sprintf("Look at the leaves of the test of %s first. Are they unharmed?", c.date(test.Start)), testSource)
	}
}

// TestStep is the work of a first use: the test now, the look after 48 hours.
func TestStep(m *garden.Material, at time.Time, zone *time.Location) Step {
	look := at.Add(TestWait)
	return Step{Kind: TestSpray, From: civil.Of(at, zone), By: civil.Of(look, zone), Source: testSource,
		Text: fmt.Sprintf("Spray %s on a few leaves only and log it as a test. Look at them on %s: burned, spotted or curled leaves mean that it is not for this crop. %s", m.Label(), look.In(zone).Format("Mon 2 Jan 15:04"), LabelCaution)}
}

// Reminder is work that follows a treatment at a time of its own.
type Reminder struct {
	Record   string    `json:"record"` // id of what it follows
	Plot     string    `json:"plot"`
	Planting string    `json:"planting"`
	At       time.Time `json:"at"`
	Text     string    `json:"text"`
}

// Reminders returns the work that follows the records that stand: what the
// grower typed for the material (rinse it off in the morning), and the look at a
// test after 48 hours unless its result is logged. Those from an instant on, in
// order of the records.
func Reminders(records []garden.Record, own []garden.Material, from time.Time, zone *time.Location) []Reminder {
	var out []Reminder
	add := func(r *garden.Record, at time.Time, text string) {
		if !at.Before(from) {
			out = append(out, Reminder{r.ID, r.Plot, r.Planting, at.UTC(), text})
		}
	}
	for _, r := range garden.Current(records) {
		m := garden.MaterialByID(own, r.Material)
		if m != nil && m.FollowUp != nil {
			f := m.FollowUp
			at := r.Finished().Add(time.Duration(f.AfterHours) * time.Hour)
			if f.At != "" {
				at = f.At.Next(r.Finished(), zone)
			}
			add(&r, at, fmt.Sprintf("After %s: %s.", m.Label(), f.Text))
		}
		if r.Test && r.Result == "" {
			add(&r, r.Finished().Add(TestWait), "Look at the leaves of the test spray and log how they are.")
		}
	}
	return out
}
