package webtest

import (
	"time"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/store"
)

func d(m time.Month, day int) civil.Date { return civil.New(2026, m, day) }

// Round returns what the latest round said of the garden.
func Round() store.Round {
	at := Today.Slot(6, 0, Loc())
	r := store.Round{Site: "mill-lane", At: at, Hours: Hours()}
	add := func(planting, threat string, ready plan.Readiness, code, text string, o *risk.Outlook, t *risk.Track, steps ...plan.Step) *plan.Assessment {
		a := plan.Assessment{Site: "mill-lane", Planting: planting, Threat: threat, Model: threat + "/invented-2026", Round: at,
			WeatherUntil: at.Add(-time.Hour), Readiness: ready, Outlook: o, Track: t, Steps: steps,
			Reason: plan.Reason{Code: code, Text: text}}
		if t != nil {
			a.Reason.Numbers = []plan.Number{
				{Name: "published threshold: first adults", Value: 300, Unit: t.Unit, Source: invented},
				{Name: "coldest night of the last week", Value: 9.4, Unit: "C", Source: risk.Source{Text: "own station", Standing: risk.Confirmed}},
			}
		}
		r.Assessments = append(r.Assessments, a)
		return &r.Assessments[len(r.Assessments)-1]
	}
	look := plan.Step{Kind: plan.Scout, Text: "Look at 10 plants, at the edge and in the middle. Where: lowest leaves.", From: Today, By: d(6, 17), Dates: []civil.Date{Today, d(6, 17), d(6, 24)}, Source: practice}
	clean := plan.Step{Kind: plan.CleanUp, Text: "Take off the lowest leaves that touch the soil", From: Today, By: d(6, 11), Source: invented}
	mulch := plan.Step{Kind: plan.MulchBed, Text: "Lay straw so that rain cannot splash soil on the leaves.", From: Today, By: d(6, 11), Source: practice}
	net := plan.Step{Kind: plan.CoverBed, Text: "Put the net over the bed and close its edges with soil.", From: Today, By: d(6, 20), Source: invented}
	spray := plan.Step{Kind: plan.Spray, Text: "If you spray: only a material whose label names this crop and this disease.", From: Today, Source: practice,
		When: "in a dry, calm hour", Options: []plan.Option{
			{Ingredient: "an invented ingredient", Acts: plan.Preventive, Text: "protects only before the wet days", Bees: "not on open bloom", Source: invented, Own: []string{"the tin in the shed"}},
			{Ingredient: "an invented home mix", Text: "growers use it", Source: invented, Home: true, NotHere: true,
				Evidence: []plan.Evidence{{Result: "no effect", Text: "in one invented trial", Source: invented}}},
		}}

	wet := &risk.Outlook{Event: "conditions that favour infection", Issued: Today, P10: d(6, 12), P50: d(6, 12), P90: d(6, 12), Chance: [4]float64{1, 1, 1, 1}, Members: 30, Basis: "the forecast"}
	for _, p := range []string{"tomato-1", "tomato-8"} {
		add(p, "late-blight", plan.Act, "infection-forecast", "The forecast has conditions that favour infection on 12 Jun. A protectant works only before it.",
			wet, Infections(), clean, mulch, look, spray)
	}
	add("tomato-1", "early-blight", plan.Approaching, "median-within-four-weeks", "First spray: most likely 20 Jun, 8 in 10 between 16 and 24 Jun. So far 14 of 35 severity values.",
		&risk.Outlook{Event: "first spray", Issued: Today, P10: d(6, 16), P50: d(6, 20), P90: d(6, 24), Chance: [4]float64{0.2, 0.98, 1, 1}, Members: 30, Basis: "16 forecast days, then 30 past years"},
		Rising("severity values", d(5, 14), 0.6, 35, 0), mulch, look)
	add("tomato-1", "hornworm", plan.Quiet, "far", "First adults: most likely 20 Jul, 8 in 10 between 14 and 26 Jul.",
		&risk.Outlook{Event: "first adults", Issued: Today, P10: d(7, 14), P50: d(7, 20), P90: d(7, 26), Members: 30, Basis: "30 past years"}, Rising("degree-days F", d(3, 1), 5, 900, 0))
	add("cabbage-2", "cabbageworm", plan.Present, "found", "You logged imported cabbageworm (eggs) in this planting on 8 Jun.", nil, Rising("degree-days F", d(3, 1), 4, 300, 48),
		look, net, spray)
	add("cabbage-2", "cabbage-maggot", plan.Protected, "covered", "Under a net since 20 Apr, before the first flies.", nil, Rising("degree-days F", d(3, 1), 4.2, 452, 0), look).
		Protection = &plan.Protection{State: plan.Thin, Text: "6 days and 12 mm of rain since it was treated", Growth: "Leaves that have grown since then are bare.", Source: practice}
	add("cabbage-2", "diamondback", plan.Quiet, "waiting", "Counting starts with a first catch; log it when you see it.", nil, nil).Model = ""
	add("squash-3", "vine-borer", plan.Approaching, "median-within-four-weeks", "First adults: most likely 24 Jun, 8 in 10 between 19 Jun and 2 Jul.",
		&risk.Outlook{Event: "first adults", Issued: Today, P10: d(6, 19), P50: d(6, 24), P90: d(7, 2), Chance: [4]float64{0.02, 0.52, 0.88, 0.97}, Members: 3, Basis: "3 past years", Rough: true},
		Rising("degree-days F", d(3, 1), 6.5, 1000, 30), net, look)
	add("squash-3", "cucumber-beetle", plan.Act, "stage-reached", "Conditions have favoured beetles in the beds since 4 Jun: the total passed 350 degree-days F. Look at the plants now.",
		&risk.Outlook{Event: "beetles in the beds", Issued: Today, Reached: d(6, 4), P10: d(6, 4), P50: d(6, 4), P90: d(6, 4), Chance: [4]float64{1, 1, 1, 1}, Members: 30, Basis: "measured weather"},
		Rising("degree-days F", d(3, 1), 4.6, 350, 0), look, net, spray)
	for _, t := range []string{"downy-mildew", "cucumber-beetle"} {
		a := add("cucumber-4", t, plan.Blind, "weather-stale", "Blind since 8 Jun 14:00: no weather has arrived for 40 hours.", nil, nil, look)
		a.WeatherUntil = d(6, 8).Slot(14, 0, Loc())
	}
	add("pea-5", "powdery-mildew", plan.Approaching, "median-within-four-weeks", "First spots: most likely around 30 Jun.",
		&risk.Outlook{Event: "first spots", Issued: Today, P10: d(6, 21), P50: d(6, 30), Chance: [4]float64{0, 0.15, 0.55, 0.6}, Members: 30, Basis: "16 forecast days, then 30 past years"},
		Rising("favourable days", d(5, 1), 0.3, 20, 0), look)
	add("pea-5", "pea-aphid", plan.Quiet, "far", "Winged adults: not expected within the days looked at.", &risk.Outlook{Event: "winged adults", Issued: Today, Members: 30, Basis: "30 past years"}, Rising("degree-days F", d(3, 1), 3, 700, 0))
	return r
}

// Rising returns a track that climbs by a step a day from its start to five days
// ahead, passing a threshold on the way if it gets there; missing hours fall on
// the tenth day and the next.
func Rising(unit string, start civil.Date, step, threshold float64, missing int) *risk.Track {
	t := &risk.Track{Model: "invented", Unit: unit, Start: start}
	total, unknown, open := 0.0, 0, 0.0
	n := Today.Sub(start) + 6
	for i := range n {
		v := step * (0.4 + 1.2*float64(i)/float64(n))
		if left := missing - unknown; left > 0 && i >= n/2 {
			hours := min(24, left)
			unknown += hours
			open += v * float64(hours) / 12
			v *= 1 - float64(hours)/24
		}
		if total < threshold && total+v >= threshold {
			t.Events = append(t.Events, risk.Event{Kind: risk.Crossing, Name: "first adults", Date: start.AddDays(i), Value: threshold, Forecast: start.AddDays(i) >= Today})
		}
		total += v
		t.Points = append(t.Points, risk.Point{Date: start.AddDays(i), Value: v, Total: total, Low: total, High: total + open, UnknownHours: unknown, Forecast: start.AddDays(i) >= Today})
	}
	return t
}

// Infections returns a track of days without a total, with two days ahead whose
// weather allows infection.
func Infections() *risk.Track {
	t := &risk.Track{Model: "invented", Unit: "hours of wet leaves", Start: d(5, 14)}
	for i := range 34 {
		v := float64((i * 7) % 9)
		day := t.Start.AddDays(i)
		if day == d(6, 12) || day == d(6, 13) || day == d(6, 1) {
			v = 14
			t.Events = append(t.Events, risk.Event{Kind: risk.Infection, Name: "infection period", Date: day, Value: v, Forecast: day >= Today})
		}
		t.Points = append(t.Points, risk.Point{Date: day, Value: v, Forecast: day >= Today})
	}
	return t
}

// Hours returns the working hours of eight days: mornings and evenings good,
// rain on the third and fourth day, the last unknown.
func Hours() []plan.Hours {
	var out []plan.Hours
	add := func(day civil.Date, from, to int, h plan.Hours) {
		h.From, h.To = day.Slot(from, 0, Loc()), day.Slot(to, 0, Loc())
		if to == 24 {
			h.To = day.AddDays(1).Start(Loc())
		}
		out = append(out, h)
	}
	for i := range 8 {
		day := Today.AddDays(i)
		add(day, 0, 6, plan.Hours{Why: []string{"dark"}})
		switch {
		case i == 2 || i == 3:
			add(day, 6, 20, plan.Hours{Why: []string{"wet leaves", "rain within 6 hours"}})
		case i == 7:
			add(day, 6, 20, plan.Hours{Unknown: true, Why: []string{"weather missing"}})
		default:
			add(day, 6, 8, plan.Hours{Why: []string{"wet leaves"}})
			add(day, 8, 12, plan.Hours{Good: true})
			add(day, 12, 17, plan.Hours{Why: []string{"wind"}})
			add(day, 17, 20, plan.Hours{Good: true})
		}
		add(day, 20, 24, plan.Hours{Why: []string{"dark"}})
	}
	return out
}
