package plan

import (
	"time"

	"plotwarden/risk"
)

type decision struct {
	readiness Readiness
	reason    Reason
	outlook   *risk.Outlook // the one that decided; nil when none did
	weighing  *Weighing
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
	weigh(c, r, &d)
	if d.readiness == Act || d.readiness == Approaching {
		if p, ok := protected(c); ok {
			p.outlook, p.weighing = d.outlook, d.weighing
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
			what := said("You logged %s in this planting on %s.", term(c.Threat.Name), onDay(s.Date))
			if s.Stage != "" {
				what = said("You logged %s (%s) in this planting on %s.", term(c.Threat.Name), term(s.Stage), onDay(s.Date))
			}
			d := decision{readiness: Present, reason: because("found", what)}
			d.reason.Numbers = []Number{{Name: "days since it was seen", Value: float64(c.Today.Sub(s.Date)), Unit: "days",
				Source: risk.Source{Text: "your log", Standing: risk.Confirmed}}}
			return d, true
		}
	}
	return decision{}, false
}

func blind(c *Case, r Rules) (decision, bool) {
	say := func(code string, text Said, n ...Number) (decision, bool) {
		d := decision{readiness: Blind, reason: because(code, text)}
		d.reason.Numbers = n
		return d, true
	}
	if c.WeatherUntil.IsZero() {
		return say("no-weather", said("No measured weather has arrived yet, so nothing can be said."))
	}
	if age := c.Now.Sub(c.WeatherUntil); age > time.Duration(r.StaleHours)*time.Hour {
		return say("weather-stale", said("Blind since %s: no weather has arrived for %s.", atTime(c.Site, c.WeatherUntil), counted(int(age.Hours()), "hour")),
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
		return say("no-track", said("This model could not run: %s.", term(why)))
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
			d := decision{readiness: Blind, reason: because("gap-hides",
				said("%s hours of weather are missing: the total lies between %s and %s, and %s (%s) may have passed.",
					digits(float64(p.UnknownHours)), digits(p.Low), digits(p.High), term(st.Name), digits(st.Value)))}
			d.reason.Numbers = []Number{
				{Name: "missing hours", Value: float64(p.UnknownHours), Unit: "hours", Source: risk.Source{Text: "weather store", Standing: risk.Confirmed}},
				{Name: "highest possible total", Value: p.High, Unit: c.Track.Unit, Source: risk.Source{Text: "the rule's most a missing hour could add", Standing: risk.Derived}},
			}
			return d, true
		}
	}
	return decision{}, false
}
