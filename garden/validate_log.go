package garden

import "plotwarden/strict"

func (v *validator) region(r *Region) {
	for i := range r.Sites {
		v.siteRef(&r.Sites[i])
	}
	for i := range r.Volunteers {
		v.personRef(&r.Volunteers[i])
	}
}

func (v *validator) log(g *Garden) {
	scoutings, treatments := ids{what: "scouting"}, ids{what: "treatment"}
	for i := range g.Scoutings {
		s := &g.Scoutings[i]
		if s.ID != "" {
			v.idForm(&s.ID)
			v.double(&s.ID, &scoutings)
		}
		v.scouting(s)
		v.replaced(g.Scoutings, s)
	}
	for i := range g.Treatments {
		t := &g.Treatments[i]
		if t.ID != "" {
			v.idForm(&t.ID)
			v.double(&t.ID, &treatments)
		}
		v.treatment(t)
	}
}

func (v *validator) scouting(s *Scouting) {
	if s.Threat == "" {
		v.missing(s, &s.Threat, "scouting has no threat; write what was looked for")
	} else {
		v.threatRef(&s.Threat)
	}
	if s.Date.IsZero() {
		v.missing(s, &s.Date, "scouting has no date")
	}
	v.date(&s.Date)
	if s.Finding == "" {
		v.missing(s, &s.Finding, "scouting has no finding; write found, none or unsure")
	}
	v.numbers(s)
	v.personRef(&s.By)
	site := v.logSite(s, &s.Site, "scouting")
	if site == nil {
		return
	}
	plot, planting := v.plotRef(site, &s.Plot), v.plantingRef(site, &s.Planting)
	if planting == nil {
		return
	}
	if plot != nil && !holds(plot, planting) {
		v.fault(&s.Planting, "planting %q does not stand in plot %q", s.Planting, s.Plot)
	}
	if from := planting.InGround(); !from.IsZero() && !s.Date.IsZero() && (s.Date < from || !planting.Removed.IsZero() && s.Date > planting.Removed) {
		v.warn(&s.Date, "planting %s did not stand in its bed on %s", s.Planting, s.Date)
	}
}

// replaced checks that a correction names a look that is there, and says why.
func (v *validator) replaced(all []Scouting, s *Scouting) {
	switch {
	case s.Replaces == "":
	case len(LookTrail(all, s.Replaces)) == 0:
		v.fault(&s.Replaces, "scouting %q replaces %q, which is not in the log or replaces it in turn", s.ID, s.Replaces)
	case s.Why == "":
		v.missing(s, &s.Why, "scouting "+s.ID+" corrects "+s.Replaces+" without saying why")
	}
}

func (v *validator) numbers(s *Scouting) {
	if s.Plants < 0 {
		v.fault(&s.Plants, "plants %d is below 0", s.Plants)
	}
	some := false
	if s.Count != nil {
		some = some || *s.Count > 0
		if *s.Count < 0 {
			v.fault(s.Count, "count %d is below 0", *s.Count)
		}
	}
	if s.Percent != nil {
		some = some || *s.Percent > 0
		if *s.Percent < 0 || *s.Percent > 100 {
			v.fault(s.Percent, "percent %g is outside 0 to 100", *s.Percent)
		}
	}
	if s.BBCH != nil && (*s.BBCH < 0 || *s.BBCH > 99) {
		v.fault(s.BBCH, "bbch %d is outside 0 to 99", *s.BBCH)
	}
	if s.Finding == None && some {
		v.fault(&s.Finding, "finding none contradicts the count or percent above 0")
	}
	if s.Finding == Found && !some && (s.Count != nil || s.Percent != nil) {
		v.fault(&s.Finding, "finding found contradicts the count or percent of 0")
	}
}

func (v *validator) treatment(t *Treatment) {
	if t.At.IsZero() {
		v.missing(t, &t.At, "treatment has no time; write at: 2026-06-04T19:30:00-04:00")
	} else if y := t.At.Year(); y < firstYear || y > lastYear {
		v.fault(&t.At, "the year %d is not between %d and %d", y, firstYear, lastYear)
	}
	for i := range t.Threats {
		v.threatRef(&t.Threats[i])
	}
	for _, n := range []struct {
		at   *int
		name string
	}{{&t.IntervalDays, "interval_days"}, {&t.PreHarvestDays, "pre_harvest_days"}, {&t.ReEntryHours, "re_entry_hours"}} {
		if *n.at < 0 {
			v.fault(n.at, "%s %d is below 0", n.name, *n.at)
		}
	}
	v.personRef(&t.By)
	site := v.logSite(t, &t.Site, "treatment")
	if t.Planting == "" {
		v.missing(t, &t.Planting, "treatment has no planting; write which one was treated")
	} else if site != nil {
		v.plantingRef(site, &t.Planting)
	}
}

func (v *validator) logSite(owner any, at *string, what string) *Site {
	if *at == "" {
		v.missing(owner, at, what+" has no site")
		return nil
	}
	return v.siteRef(at)
}

// plotRef and plantingRef return nil for an empty id, which names nothing and
// passes, and for an unknown one, which they report.
func (v *validator) plotRef(s *Site, at *string) *Plot {
	var known []string
	for i := range s.Plots {
		if s.Plots[i].ID == *at {
			return &s.Plots[i]
		}
		known = append(known, s.Plots[i].ID)
	}
	if *at != "" {
		v.fault(at, "%s", strict.Unknown("plot of site "+s.ID, *at, known))
	}
	return nil
}

func (v *validator) plantingRef(s *Site, at *string) *Planting {
	var known []string
	for i := range s.Plots {
		for j := range s.Plots[i].Plantings {
			p := &s.Plots[i].Plantings[j]
			if p.ID == *at {
				return p
			}
			known = append(known, p.ID)
		}
	}
	if *at != "" {
		v.fault(at, "%s", strict.Unknown("planting of site "+s.ID, *at, known))
	}
	return nil
}

func holds(plot *Plot, p *Planting) bool {
	for i := range plot.Plantings {
		if &plot.Plantings[i] == p {
			return true
		}
	}
	return false
}
