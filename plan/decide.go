package plan

import (
	"fmt"
	"time"

	"plotwarden/risk"
)

type decision struct {
	readiness Readiness
	reason    Reason
	outlook   *risk.Outlook // the one that decided; nil when none did
}

// decide asks the questions in the order in which they overrule each other:
// what was seen, whether the weather can be trusted, what lies ahead, and
// whether earlier work still covers it.
func decide(c *Case, r Rules) decision {
	if d, ok := present(c, r); ok {
		return d
	}
	if d, ok := blind(c, r); ok {
		return d
	}
	d := ahead(c, r)
	if d.readiness == Act || d.readiness == Approaching {
		if p, ok := protected(c); ok {
			p.outlook = d.outlook
			return p
		}
		worn(c, &d)
	}
	return d
}

func present(c *Case, r Rules) (decision, bool) {
	for i := len(c.Scoutings) - 1; i >= 0; i-- {
		s := c.Scoutings[i]
		if s.Date > c.Today || c.Today.Sub(s.Date) > r.LastingDays {
			continue
		}
		switch s.Finding {
		case "none":
			return decision{}, false // a later look found none
		case "found":
			what := c.Threat.Name
			if s.Stage != "" {
				what += " (" + s.Stage + ")"
			}
			return decision{readiness: Present, reason: Reason{
				Code: "found",
				Text: fmt.Sprintf("You logged %s in this planting on %s.", what, day(s.Date)),
				Numbers: []Number{{Name: "days since it was seen", Value: float64(c.Today.Sub(s.Date)), Unit: "days",
					Source: risk.Source{Text: "your log", Standing: risk.Confirmed}}},
			}}, true
		}
	}
	return decision{}, false
}

func blind(c *Case, r Rules) (decision, bool) {
	say := func(code, text string, n ...Number) (decision, bool) {
		return decision{readiness: Blind, reason: Reason{Code: code, Text: text, Numbers: n}}, true
	}
	if c.WeatherUntil.IsZero() {
		return say("no-weather", "No measured weather has arrived yet, so nothing can be said.")
	}
	if age := c.Now.Sub(c.WeatherUntil); age > time.Duration(r.StaleHours)*time.Hour {
		return say("weather-stale", fmt.Sprintf("Blind since %s: no weather has arrived for %d hours.", clock(c, c.WeatherUntil), int(age.Hours())),
			Number{Name: "age of the newest measured hour", Value: age.Hours(), Unit: "hours", Source: risk.Source{Text: "weather store", Standing: risk.Confirmed}})
	}
	if c.Waiting != "" {
		return decision{}, false
	}
	if c.Track == nil || len(c.Track.Points) == 0 {
		why := c.NoTrack
		if why == "" {
			why = "the weather it needs is missing"
		}
		return say("no-track", "This model could not run: "+why+".")
	}
	return unknownHides(c)
}

// unknownHides says whether the hours that are missing could hide an event: the
// highest total they allow has reached a stage that the known total has not.
func unknownHides(c *Case) (decision, bool) {
	p, ok := c.Track.At(c.Today.AddDays(-1))
	if !ok || p.UnknownHours == 0 {
		return decision{}, false
	}
	for _, st := range c.Stages {
		if p.Total < st.Value && p.High >= st.Value {
			return decision{readiness: Blind, reason: Reason{
				Code: "gap-hides",
				Text: fmt.Sprintf("%d hours of weather are missing: the total lies between %s and %s, and %s (%s) may have passed.",
					p.UnknownHours, number(p.Low), number(p.High), st.Name, number(st.Value)),
				Numbers: []Number{
					{Name: "missing hours", Value: float64(p.UnknownHours), Unit: "hours", Source: risk.Source{Text: "weather store", Standing: risk.Confirmed}},
					{Name: "highest possible total", Value: p.High, Unit: c.Track.Unit, Source: risk.Source{Text: "the rule's most a missing hour could add", Standing: risk.Derived}},
				},
			}}, true
		}
	}
	return decision{}, false
}
