package demo

import (
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
)

// seasonDay is the day of the record that the demonstration moves to today: a
// late spring day with something to act on, something on its way and something
// seen.
var seasonDay = civil.New(2015, 6, 5)

// shiftGarden moves every date of a garden by a number of days, and with them
// the season's start: a model that counts from 1 January of the record counts
// from the day to which that 1 January has moved.
func shiftGarden(g *garden.Garden, by int) {
	move := func(d *civil.Date) {
		if !d.IsZero() {
			*d = d.AddDays(by)
		}
	}
	for i := range g.Sites {
		s := &g.Sites[i]
		_, m, d := s.Season().In(seasonDay.Year()).AddDays(by).YMD()
		s.SeasonStart = civil.MonthDay{Month: m, Day: d}
		for j := range s.Plots {
			for k := range s.Plots[j].Plantings {
				p := &s.Plots[j].Plantings[k]
				move(&p.Sown)
				move(&p.PlantedOut)
				move(&p.Removed)
			}
		}
	}
	for i := range g.Scoutings {
		move(&g.Scoutings[i].Date)
	}
	for i := range g.Treatments {
		t := &g.Treatments[i]
		t.At = t.At.Add(time.Duration(by) * 24 * time.Hour)
	}
}
