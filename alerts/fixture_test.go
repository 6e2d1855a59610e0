package alerts

import (
	"strings"
	"time"
	_ "time/tzdata"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/store"
)

// The ground of the tests is invented, and so are its threats' numbers.

var (
	ny    = mustZone("America/New_York")
	today = civil.New(2026, 6, 4) // a Thursday
)

func mustZone(name string) *time.Location {
	loc, err := time.LoadLocation(name)
	if err != nil {
		panic(err)
	}
	return loc
}

func site() *garden.Site {
	return &garden.Site{ID: "north", Name: "North ground", Latitude: 41, Longitude: -74, Zone: "America/New_York", Plots: []garden.Plot{
		{ID: "b3", Name: "Bed 3", Grower: "ada", Plantings: []garden.Planting{{ID: "tom", Crop: "tomato", Cultivar: "large red"}}},
		{ID: "b7", Name: "Bed 7", Plantings: []garden.Planting{{ID: "tom2", Crop: "tomato"}}},
		{ID: "b9", Name: "Bed 9", Grower: "ben", Plantings: []garden.Planting{{ID: "cab", Crop: "cabbage"}, {ID: "squash", Crop: "summer squash"}}},
	}}
}

type threats struct{}

func (threats) ByID(id string) (*catalog.Threat, bool) {
	name, ok := map[string]string{"late-blight": "late blight", "cabbageworm": "imported cabbageworm", "vine-borer": "squash vine borer", "aphid": "cabbage aphid"}[id]
	return &catalog.Threat{ID: id, Name: name}, ok
}

func (threats) Model(id string) (*catalog.Model, bool) {
	if id != "vine-borer/author-1999" {
		return nil, false
	}
	return &catalog.Model{ID: id, Title: "Squash vine borer, Author 1999", Source: risk.Source{Text: "Author 1999", Standing: risk.FromMemory}}, true
}

func at(d civil.Date, hour int) time.Time { return d.Slot(hour, 0, ny) }

// hours are the working hours of a week: dry mornings on two days, a wet day
// between them, and nothing known from the sixth day on.
func hours() []plan.Hours {
	var out []plan.Hours
	add := func(d civil.Date, from, to int, why ...string) {
		out = append(out, plan.Hours{From: at(d, from), To: at(d, to), Good: len(why) == 0, Why: why})
	}
	for i := range 5 {
		d := today.AddDays(i)
		add(d, 0, 6, "dark", "wet leaves")
		switch i {
		case 0:
			add(d, 6, 9)
			add(d, 9, 17, "wind", "too hot")
			add(d, 17, 20)
		case 1:
			add(d, 6, 20, "wet leaves", "rain within 6 hours")
		default:
			add(d, 6, 8, "wet leaves")
			add(d, 8, 11)
			add(d, 11, 13)
			add(d, 13, 20, "wind")
		}
		out = append(out, plan.Hours{From: at(d, 20), To: at(d+1, 0), Why: []string{"dark"}})
	}
	return append(out, plan.Hours{From: at(today+5, 0), To: at(today+7, 0), Unknown: true, Why: []string{"weather missing"}})
}

func base(planting, threat string, r plan.Readiness, code, text string) plan.Assessment {
	return plan.Assessment{
		Site: "north", Planting: planting, Threat: threat, Round: at(today, 6), WeatherUntil: at(today, 5),
		Readiness: r, Reason: plan.Reason{Code: code, Text: text},
	}
}

func lateBlight(planting string) plan.Assessment {
	a := base(planting, "late-blight", plan.Act, "infection-forecast", "The forecast has conditions that favour infection on 6 Jun. A protectant works only before it.")
	a.Reason.Said = []plan.Said{{Key: "The forecast has conditions that favour infection on %s. A protectant works only before it.", Args: []plan.Arg{{Kind: plan.ArgDay, Day: today + 2}}}}
	a.Outlook = &risk.Outlook{Issued: today, P10: today + 2, P50: today + 2, P90: today + 2, Chance: [4]float64{1, 1, 1, 1}, Members: 1, Basis: "the forecast of 16 days"}
	a.Reason.Numbers = []plan.Number{
		{Name: "lowest temperature of both days", Value: 12.4, Unit: "C", Source: risk.Source{Text: "forecast", Standing: risk.Derived}},
		{Name: "published lowest temperature", Value: 10, Unit: "C", Source: risk.Source{Text: "Author 2017", Standing: risk.Confirmed}},
	}
	a.Steps = []plan.Step{
		{Kind: plan.Prune, Text: "take off the lowest leaves & keep them off the soil", From: today, By: today + 1},
		{Kind: plan.Scout, Text: "Look at 10 plants", From: today, By: today + 7},
		{Kind: plan.Spray, Text: "If you spray: only a material whose label names this crop and this disease.", From: today},
	}
	return a
}

func vineBorer() plan.Assessment {
	a := base("squash", "vine-borer", plan.Approaching, "median-within-four-weeks", "First adults: most likely 22 Jun, 8 in 10 between 17 and 29 Jun. So far 612 of 1000 degree-days F.")
	a.Model = "vine-borer/author-1999"
	a.Outlook = &risk.Outlook{Issued: today, P10: today + 13, P50: today + 18, P90: today + 25, Chance: [4]float64{0, 0.12, 0.74, 1}, Members: 30, Basis: "16 forecast days, then 30 past years"}
	a.Reason.Numbers = []plan.Number{{Name: "published threshold: first adults", Value: 1000, Unit: "degree-days F", Source: risk.Source{Text: "Author 1999", Standing: risk.FromMemory}}}
	a.Steps = []plan.Step{
		{Kind: plan.CoverBed, Text: "Cover the plants before the moths fly", By: today + 13},
		{Kind: plan.CleanUp, Text: "Clear old vines", By: today + 13},
		{Kind: plan.Scout, Text: "Look at the stems", By: today + 7},
		{Kind: plan.Rotate, Text: "Plant elsewhere next year"},
	}
	return a
}

func cabbageworm() plan.Assessment {
	a := base("cab", "cabbageworm", plan.Present, "found", "You logged imported cabbageworm (eggs) in this planting on 3 Jun.")
	a.Reason.Said = []plan.Said{{Key: "You logged %s (%s) in this planting on %s.", Args: []plan.Arg{
		{Kind: plan.ArgTerm, Text: "imported cabbageworm"}, {Kind: plan.ArgTerm, Text: "eggs"}, {Kind: plan.ArgDay, Day: today - 1}}}}
	a.Steps = []plan.Step{{Kind: plan.Scout, Text: "Turn the leaves and pick off what you find"}}
	return a
}

func blindOnes() []plan.Assessment {
	a := base("cab", "aphid", plan.Blind, "weather-stale", "Blind since 2 Jun 14:00: no weather has arrived for 39 hours.")
	a.WeatherUntil = at(today-2, 14)
	b := a
	b.Planting, b.Threat = "tom", "late-blight"
	c := base("squash", "vine-borer", plan.Blind, "gap-hides", "212 hours of weather are missing: the total lies between 380 and 1100, and first adults (1000) may have passed.")
	return []plan.Assessment{c, a, b}
}

// busy is a morning with something of everything.
func busy() Input {
	return Input{
		Person: garden.Person{ID: "cleo", Name: "Cleo"}, Site: site(), Slot: at(today, 6), Hours: hours(), Catalogue: threats{},
		Assessments: []plan.Assessment{vineBorer(), lateBlight("tom"), lateBlight("tom2"), cabbageworm(),
			base("cab", "aphid", plan.Quiet, "far", "Colonies: not expected within the days looked at."),
			base("tom", "cabbageworm", plan.Protected, "covered", "Under insect net.")},
		BaseURL: "https://beds.example", Credits: []string{"Weather data by Open-Meteo.com (CC BY 4.0), https://open-meteo.com/"},
	}
}

// toldBefore is the same morning for someone who was told it the day before.
func toldBefore(in Input) Input {
	d, _ := Compose(in)
	in.Told = d.Told
	return in
}

func scenarios() map[string]Input {
	first := busy()
	us := busy()
	us.Person.Units = garden.US
	demo := busy()
	demo.Demo, demo.DemoWeather = true, "Weather: recorded in New York 2012-2015, moved to today."
	demo.Person = garden.Person{ID: "ada", Name: "Ada"}
	same := toldBefore(busy())
	same.Assessments[1].Steps[0].By, same.Assessments[2].Steps[0].By = today+4, today+4

	changed := toldBefore(busy())
	later := vineBorer()
	o := *later.Outlook
	o.P10, o.P50, o.P90 = o.P10-6, o.P50-6, o.P90-6
	later.Outlook = &o
	later.Reason.Text = "First adults: most likely 16 Jun, 8 in 10 between 11 and 23 Jun. So far 688 of 1000 degree-days F."
	gone := base("tom", "late-blight", plan.Quiet, "no-infection", "No day that favours infection in the last week or the forecast")
	worse := base("cab", "aphid", plan.Approaching, "median-within-four-weeks", "Colonies: most likely 20 Jun.")
	changed.Assessments = []plan.Assessment{later, gone, lateBlight("tom2"), cabbageworm(), worse}

	blind := busy()
	blind.Assessments = blindOnes()
	blind.Hours = nil
	blind.Sources = []store.SourceStatus{{Source: "open-meteo", LastErr: "503", Cause: "http-503", LastGood: at(today-2, 15), Consecutive: 40}, {Source: "station", LastGood: at(today, 5)}}

	acts := toldBefore(busy())
	acts.Assessments[0] = vineBorer()
	acts.ActLink = func(kind string, plantings []string, threat string) string {
		return "https://beds.example/act/" + kind + "." + strings.ReplaceAll(Subject(plantings, threat), "/", ".")
	}

	spanish := acts
	spanish.Person.Language = garden.Spanish
	spanishBlind := busy()

	nothing := busy()
	nothing.Assessments = []plan.Assessment{base("cab", "aphid", plan.Quiet, "far", "Not expected.")}
	nothing = toldBefore(nothing)

	spanishBlind.Assessments, spanishBlind.Hours, spanishBlind.Sources = blind.Assessments, nil, blind.Sources
	spanishBlind.Person.Language = garden.Spanish
	spanishFirst := busy()
	spanishFirst.Person.Language = garden.Spanish

	bare := busy()
	bare.BaseURL, bare.Credits = "", nil
	bare.Assessments = bare.Assessments[3:4]

	stale := busy()
	stale.Slot = at(today+2, 6)
	hostile := busy()
	hostile.Site.Name = `North <script>alert(1)</script> & "ground"`
	hostile.Person.Name = "<b>Cleo</b>"
	hostile.Assessments[3].Reason.Said = nil
	hostile.Assessments[3].Reason.Text = `You logged <img src=x onerror=alert(1)> & more`
	return map[string]Input{
		"first": first, "us": us, "demo": demo, "same": same, "changed": changed, "blind": blind,
		"nothing": nothing, "bare": bare, "stale": stale, "acts": acts,
		"es": spanish, "es-blind": spanishBlind, "es-first": spanishFirst, "hostile": hostile,
	}
}
