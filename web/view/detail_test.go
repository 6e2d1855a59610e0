package view_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/risk/model"
	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/web/view"
	"plotwarden/web/webtest"
)

func TestWhyTellsAll(t *testing.T) {
	p, ok := view.Why(input(), "squash-3", "vine-borer", "")
	require.True(t, ok)
	assert.Equal(t, plan.Approaching, p.Readiness)
	assert.Equal(t, "First adults: most likely 24 Jun, 8 in 10 chance between 19 Jun and 2 Jul (rough: few runs behind it).", p.Lead)
	require.NotNil(t, p.Outlook)
	require.Len(t, p.Outlook.Chances, 4)
	assert.Equal(t, "14 days, by 24 Jun", p.Outlook.Chances[1].Within)
	assert.Equal(t, "about 5 in 10", p.Outlook.Chances[1].Words)
	assert.Equal(t, "52 %", p.Outlook.Chances[1].Figure)
	require.NotNil(t, p.Track)
	assert.Contains(t, p.Track.Gaps, "30 hours of weather are missing")
	assert.True(t, p.Track.Ahead)
	assert.Equal(t, "1000 degree-days F", p.Stages[0].Value)
	require.NotNil(t, p.Model)
	assert.Equal(t, "Counts from 1 March of the northern calendar (from memory).", p.Model.Start)
	assert.Equal(t, "from memory", p.Numbers[0].Standing)
	assert.False(t, p.Sprays)
	assert.Equal(t, "from memory", p.Steps[0].Standing)
}

func TestTheLogIsShownLatestFirst(t *testing.T) {
	p, ok := view.Why(input(), "cabbage-2", "cabbageworm", "")
	require.True(t, ok)
	require.Len(t, p.Log, 3)
	assert.Equal(t, "Found: eggs, 10 plants looked at, 4 counted, 20 % affected.", p.Log[0].Text)
	assert.Equal(t, "Looked, found none, 10 plants looked at.", p.Log[1].Text)
	assert.Equal(t, "Treated with an invented ingredient; your label's interval: 7 days.", p.Log[2].Text)
	assert.True(t, p.Sprays)
}

func TestAReachedEventHasNoChances(t *testing.T) {
	p, ok := view.Why(input(), "squash-3", "cucumber-beetle", "")
	require.True(t, ok)
	assert.Empty(t, p.Outlook.Chances)
	assert.Contains(t, p.Lead, "Conditions have favoured")
}

func TestUnknownChanceIsSaid(t *testing.T) {
	in := input()
	in.Round.Assessments[2].Outlook.Chance = [4]float64{math.NaN(), 1, 1, 1}
	p, _ := view.Why(in, "tomato-1", "early-blight", "")
	assert.Equal(t, "unknown", p.Outlook.Chances[0].Words)
	assert.Empty(t, p.Outlook.Chances[0].Bar)
}

func TestStepsSayWhenAgainAndWith(t *testing.T) {
	p, ok := view.Why(input(), "tomato-1", "late-blight", "")
	require.True(t, ok)
	require.Len(t, p.Steps, 4)
	assert.Equal(t, "17 Jun and 24 Jun", p.Steps[2].Again, "today's look is not repeated as one to come")
	spray := p.Steps[3]
	assert.Equal(t, "In a dry, calm hour.", spray.When)
	require.Len(t, spray.Options, 2)
	assert.Equal(t, "works before it comes", spray.Options[0].Acts)
	assert.Equal(t, []string{"Protects only before the wet days.", "Not on open bloom."}, spray.Options[0].Text)
	assert.True(t, spray.Options[1].Home)
	assert.Equal(t, "No effect", spray.Options[1].Evidence[0].Result)
	p, ok = view.Why(input(), "cabbage-2", "cabbage-maggot", "")
	require.True(t, ok)
	require.NotNil(t, p.Treated)
	assert.Equal(t, "6 days and 12 mm of rain since it was treated.", p.Treated.Text)
}

// At 100 a day from 1 June, 300 is reached on the 3rd and 360 on the 4th.
func TestStagesSayWhenTheyWereReached(t *testing.T) {
	in := input()
	first := civil.New(2026, time.June, 1)
	tr := &risk.Track{Unit: "degree-days F", Start: first}
	for i := range 11 {
		total := 100 * float64(i+1)
		tr.Points = append(tr.Points, risk.Point{Date: first.AddDays(i), Value: 100, Total: total, Low: total, High: total, Forecast: i >= 9})
	}
	for i := range in.Round.Assessments {
		if a := &in.Round.Assessments[i]; a.Threat == "cabbageworm" {
			a.Track = tr
		}
	}
	reached := func() []string {
		p, ok := view.Why(in, "cabbage-2", "cabbageworm", "")
		require.True(t, ok)
		return []string{p.Stages[0].Reached, p.Stages[1].Reached, p.Stages[2].Reached}
	}
	assert.Equal(t, []string{"3 Jun", "4 Jun", ""}, reached())
	tr.Events = []risk.Event{{Kind: risk.Reset, Date: first.AddDays(20)}}
	assert.Equal(t, []string{"", "", ""}, reached(), "what was reached before a reset is over")
}

// A stage limited to other cultivars or to the time after a spray is listed but
// not drawn.
func TestOnlyStagesThatHoldAreDrawn(t *testing.T) {
	in := input()
	p, _ := view.Why(in, "tomato-1", "early-blight", "")
	require.Len(t, p.Stages, 2)
	assert.Equal(t, "Next spray, after a spray", p.Stages[1].Name)
	assert.Contains(t, string(p.Track.Drawing), "35 First spray")
	assert.NotContains(t, string(p.Track.Drawing), "15 Next spray")
	in.Round.Assessments[2].Track.Events = append(in.Round.Assessments[2].Track.Events, risk.Event{Kind: risk.Reset, Date: webtest.Today})
	p, _ = view.Why(in, "tomato-1", "early-blight", "")
	assert.Contains(t, string(p.Track.Drawing), "15 Next spray")
}

func TestAThreatThatLeftTheCatalogueKeepsItsId(t *testing.T) {
	in := input()
	c := webtest.Threats()
	delete(c, "late-blight")
	in.Catalogue = c
	p, ok := view.Why(in, "tomato-1", "late-blight", "")
	require.True(t, ok)
	assert.Equal(t, "Late-blight", p.Threat.Text)
	assert.Nil(t, p.Model)
}

func TestWeatherPage(t *testing.T) {
	in := input()
	p := view.Weather(in, webtest.Weather(), webtest.Status(), webtest.Wet)
	assert.Equal(t, "Measured weather reaches to today 06:00, 3 hours ago.", p.Fresh[0])
	assert.False(t, p.Stale)
	require.Len(t, p.Days, 5)
	assert.Equal(t, "Yesterday", p.Days[0].Title)
	assert.Contains(t, p.Days[0].Summary, "unknown for 4 hours")
	gap := p.Days[0].Hours[21]
	assert.Equal(t, "?", gap.Temp)
	assert.Equal(t, "?", gap.Leaves, "what is not known is not dry")
	assert.Empty(t, gap.From)
	assert.Equal(t, "1", p.Days[0].Hours[0].From)
	assert.Equal(t, "2", p.Days[2].Hours[0].From)
	require.Len(t, p.Origins, 2)
	assert.Equal(t, "not said", p.Origins[0].Issued)
	assert.Equal(t, "forecast", p.Origins[1].Kind)
	require.Len(t, p.Sources, 2)
	assert.Equal(t, "well", p.Sources[0].State)
	assert.True(t, p.Sources[1].Failing)
	assert.Equal(t, "failing, 12 failures in a row", p.Sources[1].State)
}

func TestWeatherWithoutAnything(t *testing.T) {
	in := input()
	p := view.Weather(in, nil, []store.SourceStatus{{Source: "a"}}, nil)
	assert.True(t, p.Stale)
	assert.Equal(t, "not tried yet", p.Sources[0].State)
	s := weather.NewSeries(webtest.Today.Start(webtest.Loc()), 24)
	p = view.Weather(in, s, nil, nil)
	assert.True(t, p.Stale)
	assert.Equal(t, "?", p.Days[0].Hours[0].Leaves)
	assert.Equal(t, "Temperature not known, leaves wet for 0 hours, unknown for 24 hours.", p.Days[0].Summary)
}

// A sensor's leaf wetness is used where no estimate is given.
func TestMeasuredWetness(t *testing.T) {
	s := weather.NewSeries(webtest.Today.Start(webtest.Loc()), 3)
	o, err := s.AddOrigin(weather.Origin{Source: "own station", Kind: weather.Station})
	require.NoError(t, err)
	s.Set(weather.Wetness, 0, 0.2, o)
	s.Set(weather.Wetness, 1, 0, o)
	h := view.Weather(input(), s, nil, nil).Days[0].Hours
	assert.Equal(t, []string{"wet", "dry", "?"}, []string{h[0].Leaves, h[1].Leaves, h[2].Leaves})
}

// On the day that clocks go back there are 25 hours, each with its own row.
func TestWeatherOnAClockChange(t *testing.T) {
	in := input()
	in.Now = time.Date(2026, 11, 1, 15, 0, 0, 0, time.UTC)
	from, to := view.WeatherSpan(in)
	s := weather.NewSeries(from, int(to.Sub(from).Hours()))
	assert.Len(t, view.Weather(in, s, nil, nil).Days[1].Hours, 25)
}

func TestThreatPages(t *testing.T) {
	c := webtest.Threats()
	groups := view.Threats(c)
	require.Len(t, groups, 2)
	assert.Equal(t, "Insects", groups[0].Name)
	th, _ := c.ByID("cabbageworm")
	p := view.Threat(th)
	assert.Equal(t, "cabbage, kale and broccoli", p.Crops)
	assert.Equal(t, "1200 degree-days F", p.Models[0].Stages[2].Value)
	assert.Equal(t, "A month later.", p.Models[0].Stages[2].Note)
	th, _ = c.ByID("diamondback")
	assert.NotEmpty(t, view.Threat(th).LogOnly)
}

func TestRangesOfAStage(t *testing.T) {
	c := webtest.Threats()
	th, _ := c.ByID("hornworm")
	th.Models[0].Spec = webtest.Spec{UnitName: "degree-days F", At: []model.Stage{{Name: "adults", Value: 300, Through: 340, Cultivar: "resistant"}}}
	s := view.Threat(th).Models[0].Stages[0]
	assert.Equal(t, "300 to 340 degree-days F", s.Value)
	assert.Equal(t, "Adults, resistant cultivars", s.Name)
}

func TestLineOfASite(t *testing.T) {
	in := input()
	l := view.Line(in)
	assert.Equal(t, plan.Present, l.Readiness)
	assert.Equal(t, "1 present, 3 to act on, 3 approaching and 2 blind.", l.Summary)
	in.Round.Assessments = nil
	assert.Equal(t, plan.Blind, view.Line(in).Readiness, "plantings that are not judged are not quiet")
	in.Site.Plots = nil
	assert.Zero(t, view.Line(in).Readiness)
}
