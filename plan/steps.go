package plan

// steps takes from the season's work what this decision calls for now, cultural
// work before sprays. Quiet and blind plantings get only the look that never goes
// wrong.
func steps(c *Case, r Rules, d decision) []Step {
	if d.readiness == Quiet {
		return nil
	}
	here := d.readiness == Present || d.reason.Code == "stage-reached" || d.reason.Code == "infection-passed"
	p := Windows(WindowInput{
		Plot: c.Plot, Planting: c.Planting, Threat: c.Threat, Today: c.Today, Outlook: d.outlook,
		Days: c.Days, Own: c.Materials, LastPick: c.LastPick, Season: c.Site.Season(), Here: here,
	}, r)
	var work, looks, sprays []Step
	for _, s := range p.Steps {
		switch {
		case s.Kind == Scout:
			looks = append(looks, s)
		case s.Kind == Spray:
			sprays = append(sprays, s)
		case s.Kind == OpenCover, s.Kind == StopSpray:
			// The page of the planting shows them; they are not this week's work.
		case s.Kind == HandPick && !here && s.From > c.Today.AddDays(r.ActDays):
		default:
			work = append(work, s)
		}
	}
	looks = dueLooks(looks, c)
	switch {
	case d.readiness == Blind:
		looks[0].tell(append([]Said{said("Look with your own eyes while the weather is missing.")}, looks[0].Said...)...)
		return looks[:1]
	case d.readiness == Protected:
		return looks[:1]
	case here:
		for i := range work {
			if work[i].From.IsZero() && work[i].When == "" {
				work[i].From = c.Today
			}
		}
		work = append(looks, work...)
	default:
		work = append(work, looks...)
	}
	if d.readiness == Act || d.readiness == Present {
		work = append(work, pickSpray(sprays, here))
	}
	return work
}

// dueLooks keeps the look of this week and what the catalogue adds to it. No
// look waits for a date to come.
func dueLooks(looks []Step, c *Case) []Step {
	out := []Step{looks[0]}
	if first := &out[0]; first.From > c.Today {
		first.From, first.By = c.Today, c.Today.AddDays(7)
	}
	for _, s := range looks[1:] {
		if s.Plants == 0 && s.From <= c.Today {
			out = append(out, s)
		}
	}
	return out
}

// pickSpray takes what works before it comes or, once it may be here, what works
// on what is there; where nothing does, what keeps clean plants clean.
func pickSpray(sprays []Step, here bool) Step {
	if here {
		return sprays[len(sprays)-1]
	}
	return sprays[0]
}
