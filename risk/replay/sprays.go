package replay

import (
	"plotwarden/civil"
	"plotwarden/risk"
)

// sprays lists the days on which the rule names a spray, going by what was known
// when each day began. A rule that names infections asks for one at a warning
// when the last no longer protects. A rule whose sum goes back at a spray asks
// for one each time that the sum to the day before has reached the stage that
// holds then. Other rules name one when the event's total is reached.
func (c *Case) sprays(season *Record, issues []Issue, p Policy) ([]civil.Date, error) {
	var out []civil.Date
	if c.Infection {
		for i := range issues {
			d := issues[i].Day
			if issues[i].Warned && (len(out) == 0 || d.Sub(out[len(out)-1]) >= p.SprayDays) {
				out = append(out, d)
			}
		}
		return out, nil
	}
	from := c.Start
	for {
		t, err := c.measured(season, out)
		if err != nil {
			return nil, err
		}
		d := c.reached(t, from, len(out) > 0)
		if d.IsZero() || d.AddDays(1) > c.To {
			return out, nil
		}
		out = append(out, d.AddDays(1))
		if again, err := c.measured(season, out); err != nil {
			return nil, err
		} else if !resets(again, out[len(out)-1]) {
			return out, nil // no sum that begins again
		}
		from = d.AddDays(2)
	}
}

func resets(t *risk.Track, d civil.Date) bool {
	for _, e := range t.Events {
		if e.Kind == risk.Reset && e.Date == d {
			return true
		}
	}
	return false
}

// reached returns the first day from one on whose total stands at the stage.
func (c *Case) reached(t *risk.Track, from civil.Date, sprayed bool) civil.Date {
	threshold := c.Threshold
	for _, s := range c.Spec.Stages() {
		if sprayed && s.Spray != "" && s.Holds(c.Input.Susceptibility, sprayed) {
			threshold = s.Value
			break
		}
	}
	for _, p := range t.Points {
		if p.Date >= from && p.Total >= threshold {
			return p.Date
		}
	}
	return 0
}

// FixedSprays is how many sprays a calendar that sprays every so many days makes
// from one day to another.
func FixedSprays(from, to civil.Date, every int) int {
	if to < from || every < 1 {
		return 0
	}
	return to.Sub(from)/every + 1
}
