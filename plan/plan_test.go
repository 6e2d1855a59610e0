package plan

import (
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/risk/model"
)

var today = civil.New(2026, 6, 10)

func baseCase() *Case {
	now := today.Slot(10, 0, time.UTC)
	tr := &risk.Track{Unit: "degree-days F", Start: today.AddDays(-1), Points: []risk.Point{{Date: today.AddDays(-1), Total: 120, Low: 120, High: 120}}}
	return &Case{
		Site: &garden.Site{ID: "s", Zone: "UTC"}, Plot: &garden.Plot{ID: "p"},
		Planting: &garden.Planting{ID: "kale", Crop: "kale", PlantedOut: today.AddDays(-20)},
		Threat: &catalog.Threat{ID: "t", Name: "cabbageworm", Class: catalog.Insect, Where: "under the leaves", Look: "green caterpillars",
			Cultural: []catalog.Advice{{Kind: "cover", Text: "Close the net.", Source: practice}, {Kind: "rotate", Text: "Elsewhere next time.", Source: practice}}},
		Model:  &catalog.Model{ID: "t/m", Title: "T, A 2015", Source: risk.Source{Text: "A 2015", Standing: risk.Confirmed}},
		Stages: []model.Stage{{Name: "first adults", Value: 150}},
		Now:    now, Today: today, Track: tr, WeatherUntil: now.Add(-time.Hour),
		Outlooks: []risk.Outlook{{Event: "first adults", Issued: today, P10: today + 16, P50: today + 20, P90: today + 25, Members: 9}},
	}
}

func TestReadiness(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*Case)
		want   Readiness
		code   string
	}{
		{"median in 20 days", func(*Case) {}, Approaching, "median-within-four-weeks"},
		{"early date in 14 days", func(c *Case) { c.Outlooks[0].P10 = today + 14 }, Act, "early-date-near"},
		{"median in 29 days", func(c *Case) { c.Outlooks[0].P10, c.Outlooks[0].P50 = today+15, today+29 }, Quiet, "far"},
		{"beyond the horizon", func(c *Case) { c.Outlooks[0] = risk.Outlook{Issued: today} }, Quiet, "far"},
		{"stage passed 21 days ago", func(c *Case) { c.Outlooks[0].Reached = today - 21 }, Act, "stage-reached"},
		{"stage passed 22 days ago", func(c *Case) { c.Outlooks[0].Reached = today - 22 }, Quiet, "past"},
		{"weather 24 h old", func(c *Case) { c.WeatherUntil = c.Now.Add(-24 * time.Hour) }, Approaching, "median-within-four-weeks"},
		{"weather 25 h old", func(c *Case) { c.WeatherUntil = c.Now.Add(-25 * time.Hour) }, Blind, "weather-stale"},
		{"no weather", func(c *Case) { c.WeatherUntil = time.Time{} }, Blind, "no-weather"},
		{"no track", func(c *Case) { c.Track, c.NoTrack = nil, "no soil temperature" }, Blind, "no-track"},
		{"gap may hide the stage", func(c *Case) { c.Track.Points[0].UnknownHours, c.Track.Points[0].High = 30, 151 }, Blind, "gap-hides"},
		{"gap cannot hide it", func(c *Case) { c.Track.Points[0].UnknownHours, c.Track.Points[0].High = 30, 149 }, Approaching, "median-within-four-weeks"},
		{"waits for a catch", func(c *Case) { c.Track, c.Waiting = nil, "the first moth in a trap" }, Quiet, "waiting"},
		{"found", func(c *Case) { c.Scoutings = []garden.Scouting{{Date: today - 3, Finding: garden.Found}} }, Present, "found"},
		{"found though blind", func(c *Case) {
			c.WeatherUntil = time.Time{}
			c.Scoutings = []garden.Scouting{{Date: today - 3, Finding: garden.Found}}
		}, Present, "found"},
		{"found, then none", func(c *Case) {
			c.Scoutings = []garden.Scouting{{Date: today - 9, Finding: garden.Found}, {Date: today - 2, Finding: garden.None}}
		}, Approaching, "median-within-four-weeks"},
		{"covered", func(c *Case) { c.Planting.Cover = garden.InsectNet }, Protected, "covered"},
		{"sprayed 3 days ago, 10 mm", func(c *Case) {
			c.Treatments = []garden.Treatment{{At: c.Now.AddDate(0, 0, -3), Material: "a protectant"}}
			c.RainSince = func(time.Time) (float64, int) { return 10, 0 }
		}, Protected, "sprayed"},
		{"washed off", func(c *Case) {
			c.Treatments = []garden.Treatment{{At: c.Now.AddDate(0, 0, -3), Material: "a protectant"}}
			c.RainSince = func(time.Time) (float64, int) { return 50, 0 }
		}, Approaching, "median-within-four-weeks"},
		{"work without a material", func(c *Case) {
			c.Treatments = []garden.Treatment{{At: c.Now.AddDate(0, 0, -3), Note: "picked off"}}
			c.RainSince = func(time.Time) (float64, int) { return 0, 0 }
		}, Approaching, "median-within-four-weeks"},
		{"soap leaves nothing", func(c *Case) {
			c.Treatments = []garden.Treatment{{At: c.Now.AddDate(0, 0, -1), Material: "insecticidal soap"}}
			c.RainSince = func(time.Time) (float64, int) { return 0, 0 }
		}, Approaching, "median-within-four-weeks"},
		{"soap after a fresh film hides nothing", func(c *Case) {
			c.Treatments = []garden.Treatment{{At: c.Now.AddDate(0, 0, -2), Material: "kaolin clay"}, {At: c.Now.AddDate(0, 0, -1), Material: "insecticidal soap"}}
			c.RainSince = func(time.Time) (float64, int) { return 0, 0 }
		}, Protected, "sprayed"},
		{"rain since unknown", func(c *Case) {
			c.Treatments = []garden.Treatment{{At: c.Now.AddDate(0, 0, -3), Material: "a protectant"}}
			c.RainSince = func(time.Time) (float64, int) { return 0, 1 }
		}, Approaching, "median-within-four-weeks"},
	} {
		cs := baseCase()
		c.change(cs)
		a := Assess(cs, DefaultRules())
		assert.Equal(t, c.want.String(), a.Readiness.String(), c.name)
		assert.Equal(t, c.code, a.Reason.Code, c.name)
		assert.NotEmpty(t, a.Reason.Text, c.name)
		assert.NotContains(t, a.Reason.Text, "you have", c.name)
	}
}

func TestInfectionDecides(t *testing.T) {
	c := baseCase()
	c.Threat.Class = catalog.Disease
	c.Stages = nil
	c.Outlooks = []risk.Outlook{{Issued: today, P10: today + 3, P50: today + 3, P90: today + 3, ForecastTo: today + 10, Chance: [4]float64{1, 1, 1, 1}}}
	assert.Equal(t, "infection-forecast", Assess(c, DefaultRules()).Reason.Code)
	c.Outlooks[0] = risk.Outlook{Issued: today, P50: today + 12, Chance: [4]float64{0, 0.6, 0.8, 0.9}}
	assert.Equal(t, Approaching, Assess(c, DefaultRules()).Readiness)
	c.Track.Events = []risk.Event{{Kind: risk.Infection, Date: today - 7}}
	assert.Equal(t, "infection-passed", Assess(c, DefaultRules()).Reason.Code)
}

func TestSprayStepCarriesTheCautionAndComesLast(t *testing.T) {
	c := baseCase()
	c.Outlooks[0].P10 = today + 5
	a := Assess(c, DefaultRules())
	last := a.Steps[len(a.Steps)-1]
	assert.Equal(t, Spray, last.Kind)
	assert.Contains(t, last.Text, "The label is the law")
	assert.Equal(t, CoverBed, a.Steps[0].Kind)
	assert.Equal(t, today+5, a.Steps[0].By)
	for _, s := range a.Steps {
		assert.NotEqual(t, Rotate, s.Kind, "a standing crop cannot be rotated")
		assert.NotEqual(t, risk.Unstated, s.Source.Standing)
	}
}

// The limits are those of the sources beside thinRain and renewRain.
func TestDepositState(t *testing.T) {
	for _, c := range []struct {
		rain           float64
		days, interval int
		want           Deposit
	}{
		{0, 0, 0, Fresh}, {24.9, 6, 0, Fresh}, {25, 0, 0, Thin}, {0, 7, 0, Thin}, {25, 7, 0, Renew}, {50, 0, 0, Renew}, {0, 5, 5, Renew}, {0, 4, 5, Fresh},
	} {
		assert.Equal(t, c.want, DepositState(c.rain, c.days, c.interval), "%+v", c)
	}
}
