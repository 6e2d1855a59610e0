package risk

import "plotwarden/civil"

// Horizons are the leads, in days, for which an outlook states a chance.
var Horizons = [4]int{7, 14, 21, 28}

// Outlook is the dates ahead of one event with their probabilities.
type Outlook struct {
	Model  string     `json:"model"`
	Event  string     `json:"event"`  // the stage or threshold in plain words
	Issued civil.Date `json:"issued"` // the local day on which it was made
	// P50 is the day on which half of the members have had the event. P10 and P90
	// are the first and the last day of the middle four fifths, to the nearest
	// change of day; zero when beyond the last day that was looked at.
	P10 civil.Date `json:"p10"`
	P50 civil.Date `json:"p50"`
	P90 civil.Date `json:"p90"`
	// Chance is the share of members that reach the event within each horizon.
	Chance  [4]float64 `json:"chance"`
	Reached civil.Date `json:"reached"` // the day it was reached in observed weather; zero when not yet
	Members int        `json:"members"` // runs behind the quantiles
	Basis   string     `json:"basis"`   // in plain words: "16 forecast days, then 30 past years"
	// Rough says that fewer than five members stand behind it, or a fallback: the
	// screens then say "rough".
	Rough bool `json:"rough"`
	// Inside is the share of members whose event falls on the days from P10 to P90:
	// days being whole, 0.8 only about. 0 where it is not known.
	Inside float64 `json:"inside,omitempty"`
	// ForecastTo is the last day that rests on a forecast; after it the members
	// are past years. Zero without a forecast.
	ForecastTo civil.Date `json:"forecastTo,omitzero"`
	// Periods are, for an outlook on infections, those to come within the longest
	// horizon, in order. Days of measured weather are not among them.
	Periods []Period `json:"periods,omitempty"`
}

// Period is a stretch of days in which weather that allows infection may come.
type Period struct {
	From   civil.Date `json:"from"`
	To     civil.Date `json:"to"`     // the last day of it
	Chance float64    `json:"chance"` // of an infection on one of its days, 0 to 1
	// Forecast says that the chance is the share of versions of the forecast, else
	// that of past years.
	Forecast bool `json:"forecast"`
}

// Lead returns the days from issue to the median, and whether there is one.
func (o *Outlook) Lead() (int, bool) {
	if o.P50.IsZero() {
		return 0, false
	}
	return o.P50.Sub(o.Issued), true
}
