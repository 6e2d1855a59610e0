package service

import (
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/catalog"
	"plotwarden/risk/model"
)

// seasonStart returns the first day of the season that holds today.
func seasonStart(site *garden.Site, today civil.Date) civil.Date {
	return site.Season().OnOrBefore(today)
}

// calendarStart moves a model's fixed day of the northern calendar to the site:
// as many days after the site's season start as it stands after 1 January.
func calendarStart(site *garden.Site, day civil.MonthDay, today civil.Date) civil.Date {
	season := seasonStart(site, today)
	// 2026 is no leap year: 1 March stands 59 days after 1 January.
	january := civil.MonthDay{Month: time.January, Day: 1}
	return season.AddDays(day.In(2026).Sub(january.In(2026)))
}

// start finds the day from which a model counts for a planting. When there is
// none yet, waiting says for what.
func start(site *garden.Site, p *garden.Planting, m *catalog.Model, threat string, seen []garden.Scouting, today civil.Date) (from civil.Date, waiting string) {
	st := m.Spec.Start()
	switch st.Kind {
	case model.FromCalendar:
		return calendarStart(site, st.Day, today), ""
	case model.FromInGround:
		return p.InGround(), ""
	}
	season := seasonStart(site, today)
	for _, s := range seen { // by date
		if s.Threat == threat && s.Finding == garden.Found && s.Date >= season && s.Date <= today {
			return s.Date, ""
		}
	}
	what := st.Event
	if what == "" {
		what = "the first find"
	}
	return 0, what
}
