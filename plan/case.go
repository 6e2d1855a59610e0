package plan

import (
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/risk/model"
	"plotwarden/weather"
)

// Case is everything that one decision looks at.
type Case struct {
	Site     *garden.Site
	Plot     *garden.Plot
	Planting *garden.Planting
	Threat   *catalog.Threat
	Model    *catalog.Model
	Now      time.Time
	Today    civil.Date // the site's local date at Now

	Track *risk.Track // nil when the rule could not run
	// NoTrack says why there is no track, in plain words.
	NoTrack string
	// Waiting says what the rule waits for when it has no start yet ("a first
	// catch"); the track is then nil and nothing is blind.
	Waiting string
	// Stages are those of the model that hold for this planting, and Outlooks
	// one for each; a rule without stages has one outlook, the next infection.
	Stages   []model.Stage
	Outlooks []risk.Outlook

	WeatherUntil time.Time                                        // end of the last observed hour; zero when there is none
	RainSince    func(t time.Time) (mm float64, unknownHours int) // rain on the site since t
	Scoutings    []garden.Scouting                                // of this planting and threat, this season, by date
	Treatments   []garden.Treatment                               // of this planting against this threat, by time

	// Tuned are the numbers of the model that the site's region has changed.
	Tuned []Tuned
	// Unmeasured says that the forecast's versions rest on errors of humidity or rain
	// that are stated from memory: none were measured here.
	Unmeasured bool
	// Stake is what is weighed before a treatment; the zero value is the default
	// for the threat.
	Stake Stake

	// Arrival is what the log says; nil where it has no find.
	Arrival *Arrival

	// What follows makes steps and states sharper; all of it may be left out.
	Days      []weather.Day                          // the season's days with the forecast, for the soil
	Materials []garden.Material                      // the grower's own list
	LastPick  civil.Date                             // expected last harvest
	WetSince  func(t time.Time) (hours, unknown int) // hours of wet leaves since t
}

// Assess decides where the planting stands and what to do.
func Assess(c *Case, r Rules) Assessment {
	a := Assessment{
		Site: c.Site.ID, Plot: c.Plot.ID, Planting: c.Planting.ID, Threat: c.Threat.ID,
		Round: c.Now.UTC(), WeatherUntil: c.WeatherUntil, Track: c.Track,
	}
	if c.Model != nil {
		a.Model = c.Model.ID
	}
	d := decide(c, r)
	a.Readiness, a.Reason, a.Outlook, a.Weighing = d.readiness, d.reason, d.outlook, d.weighing
	a.Steps = steps(c, r, d)
	a.Protection = protection(c)
	return a
}
