package webtest

import (
	"time"
	_ "time/tzdata" // the zones of the garden, wherever the tests run

	"plotwarden/civil"
	"plotwarden/garden"
)

// Today is the day of the garden's invented season.
var Today = civil.New(2026, time.June, 10)

// Zone is the garden's zone.
const Zone = "America/New_York"

// Loc returns the garden's zone.
func Loc() *time.Location {
	loc, err := time.LoadLocation(Zone)
	if err != nil {
		panic(err) // embedded above
	}
	return loc
}

// Now is a morning of the invented season: 10 June 2026, 09:07 in the garden.
func Now() time.Time { return Today.Slot(9, 7, Loc()) }

// Garden returns the invented garden: one site, or two when several is set.
func Garden(several bool) *garden.Garden {
	day := func(m time.Month, d int) civil.Date { return civil.New(2026, m, d) }
	bed := func(id, name, planting, crop, cultivar string, out civil.Date) garden.Plot {
		return garden.Plot{ID: id, Name: name, Plantings: []garden.Planting{{ID: planting, Crop: crop, Cultivar: cultivar, PlantedOut: out, Susceptibility: garden.Susceptible}}}
	}
	g := &garden.Garden{
		Sites: []garden.Site{{
			ID: "mill-lane", Name: "Mill Lane ground", Latitude: 40.78, Longitude: -73.97, Elevation: 40, Zone: Zone,
			Plots: []garden.Plot{
				bed("1", "Bed 1", "tomato-1", "tomato", "Long Red", day(5, 14)),
				bed("2", "Bed 2", "cabbage-2", "cabbage", "", day(4, 20)),
				bed("3", "Bed 3", "squash-3", "summer squash", "Early Yellow", day(5, 20)),
				bed("4", "Bed 4, by the pump", "cucumber-4", "cucumber", "", day(5, 22)),
				bed("5", "Bed 5", "pea-5", "pea", "Tall Climber", day(4, 2)),
				bed("6", "Bed 6", "bean-6", "snap bean", "", day(6, 14)),
				bed("7", "Bed 7", "basil-7", "basil", "", day(5, 30)),
				bed("8", "Bed 8", "tomato-8", "tomato", "Small Round", day(5, 14)),
				bed("9", "Bed 9", "kale-9", "kale", "", day(6, 9)),
			},
		}},
		Scoutings: []garden.Scouting{
			{ID: "s1", Site: "mill-lane", Planting: "cabbage-2", Threat: "cabbageworm", Date: day(6, 2), Finding: garden.None, Plants: 10},
			{ID: "s2", Site: "mill-lane", Planting: "cabbage-2", Threat: "cabbageworm", Date: day(6, 8), Finding: garden.Found, Stage: "eggs", Plants: 10, Count: ptr(4), Percent: ptr(20.0)},
		},
		Treatments: []garden.Treatment{
			{ID: "t1", Site: "mill-lane", Planting: "cabbage-2", Threats: []string{"cabbageworm"}, At: day(5, 30).Slot(19, 0, Loc()), Ingredient: "an invented ingredient", IntervalDays: 7},
		},
	}
	if several {
		g.Sites = append(g.Sites, garden.Site{ID: "school-yard", Name: "School yard", Latitude: 40.8, Longitude: -73.9, Zone: Zone,
			Plots: []garden.Plot{bed("a", "Bed A", "kale-a", "kale", "", day(5, 1))}})
	}
	return g
}

func ptr[T any](v T) *T { return &v }
