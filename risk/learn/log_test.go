package learn

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"plotwarden/civil"
	"plotwarden/garden"
)

var ground = &garden.Site{ID: "ground", Zone: "America/New_York", Latitude: 41, Plots: []garden.Plot{
	{ID: "a", Plantings: []garden.Planting{{ID: "kale-a"}}}, {ID: "b", Plantings: []garden.Planting{{ID: "kale-b"}}},
}}

func look(plot, date string, f garden.Finding) garden.Scouting {
	d, err := civil.Parse(date)
	if err != nil {
		panic(err)
	}
	return garden.Scouting{Site: "ground", Plot: plot, Threat: "worm", Date: d, Finding: f}
}

func spray(planting, date string) garden.Treatment {
	d, err := civil.Parse(date)
	if err != nil {
		panic(err)
	}
	return garden.Treatment{Site: "ground", Planting: planting, Threats: []string{"worm"}, At: d.Slot(19, 0, ground.Location())}
}

func day(s string) civil.Date {
	d, err := civil.Parse(s)
	if err != nil {
		panic(err)
	}
	return d
}

func TestSeasonsAreBrackets(t *testing.T) {
	seen := []garden.Scouting{
		look("a", "2023-05-20", garden.Found), look("a", "2023-05-13", garden.None), look("a", "2023-05-06", garden.None),
		look("a", "2023-05-27", garden.None), look("a", "2023-06-03", garden.Found), // what comes after the first find changes nothing
		look("a", "2023-05-16", garden.Unsure),
		look("a", "2024-05-01", garden.None), look("a", "2024-07-01", garden.None), // never found
		look("a", "2025-05-10", garden.Found), // nobody looked before
		look("b", "2023-06-01", garden.Found),
	}
	other := look("a", "2023-04-01", garden.Found)
	other.Threat = "another"
	elsewhere := look("a", "2023-04-01", garden.Found)
	elsewhere.Site = "elsewhere"
	got := Seasons("worm", Where{Site: ground, Region: "r"}, append(seen, other, elsewhere), nil)
	a, b := Place{"r", "ground", "a"}, Place{"r", "ground", "b"}
	assert.Equal(t, []Season{
		{Year: 2023, None: day("2023-05-13"), First: day("2023-05-20"), Place: a},
		{Year: 2024, None: day("2024-07-01"), Place: a},
		{Year: 2025, First: day("2025-05-10"), Place: a},
		{Year: 2023, First: day("2023-06-01"), Place: b},
	}, got)
	assert.True(t, got[1].Censored())
	assert.False(t, got[1].Found())
	// The bracket (13, 20] May: its days are 14 to 20, its middle 17 May.
	assert.Equal(t, 136.0, got[0].Middle(day("2023-01-01")))
	assert.Equal(t, 129.0, got[2].Middle(day("2025-01-01")), "a lone date is taken as it stands")
}

func TestASprayBeforeTheFindCensorsIt(t *testing.T) {
	seen := []garden.Scouting{
		look("a", "2023-05-06", garden.None), look("a", "2023-05-13", garden.None), look("a", "2023-06-10", garden.Found),
		look("b", "2023-05-06", garden.None), look("b", "2023-05-13", garden.Found),
	}
	done := []garden.Treatment{spray("kale-a", "2023-05-08"), spray("kale-b", "2023-05-13")}
	got := Seasons("worm", Where{Site: ground}, seen, done)
	assert.Equal(t, Season{Year: 2023, None: day("2023-05-06"), Sprayed: day("2023-05-08"), Place: Place{"", "ground", "a"}}, got[0],
		"neither the find nor the look after the spray says when it would have come")
	assert.Equal(t, day("2023-05-13"), got[1].First, "a spray on the day of the find is its answer")
	assert.True(t, got[0].Censored())
}

func TestOnlyWhatIsSharedIsTaken(t *testing.T) {
	shared := look("b", "2023-05-20", garden.Found)
	shared.Share = true
	seen := []garden.Scouting{shared, look("b", "2023-05-13", garden.None), look("a", "2023-05-01", garden.Found)}
	got := Seasons("worm", Where{Site: ground, SharedOnly: true}, seen, nil)
	assert.Equal(t, []Season{{Year: 2023, First: day("2023-05-20"), Place: Place{"", "ground", "b"}}}, got)
}

func TestTheRunningSeasonIsLeftOut(t *testing.T) {
	seen := []garden.Scouting{look("a", "2025-05-20", garden.Found), look("a", "2026-05-13", garden.None)}
	assert.Len(t, Seasons("worm", Where{Site: ground, Before: day("2026-01-01")}, seen, nil), 1)
}

func TestSouthernSeasonsRunOverNewYear(t *testing.T) {
	south := *ground
	south.Latitude = -37
	seen := []garden.Scouting{look("a", "2024-12-20", garden.None), look("a", "2025-01-03", garden.Found)}
	got := Seasons("worm", Where{Site: &south}, seen, nil)
	assert.Equal(t, []Season{{Year: 2024, None: day("2024-12-20"), First: day("2025-01-03"), Place: Place{"", "ground", "a"}}}, got)
}

func TestALateLocalEveningIsStillItsDay(t *testing.T) {
	d := spray("kale-a", "2023-05-19") // 19:00 in New York is 23:00 UTC; an hour more and UTC is on the 20th
	d.At = d.At.Add(90 * time.Minute)
	got := Seasons("worm", Where{Site: ground}, []garden.Scouting{look("a", "2023-05-18", garden.None), look("a", "2023-05-20", garden.Found)}, []garden.Treatment{d})
	assert.Equal(t, day("2023-05-19"), got[0].Sprayed)
}
