package store

import (
	"time"

	"plotwarden/weather"
)

// Quality is how good a site's weather has been. It is worked out once a day.
type Quality struct {
	Site    string
	At      time.Time
	Since   time.Time       // the first hour compared
	Against weather.Kind    // what forecasts were held against; 0 is nothing
	Sources []SourceQuality // of forecasts, in order of name
	Doubts  []Doubt
	// Disagreements are the pairs of sources whose newest forecasts differ widely,
	// in order of variable and name. They are looked at in every round.
	Disagreements []Disagreement
	// Corrected says that the site's owner has the bias taken off.
	Corrected bool
}

// Disagreement says that two sources forecast the same coming hours of a site
// widely apart: one of them is likely wrong.
type Disagreement struct {
	A, B     string // names of the sources; A is the more preferred
	Var      weather.Var
	Since    time.Time // when the two were first seen apart, without a break since
	From, To time.Time // the hours compared
	Hours    int       // how many both have
	// Mean is the mean absolute difference of the hours, in the variable's unit;
	// of rain the difference of the two totals, in mm a day.
	Mean         float64
	MeanA, MeanB float64 // means of the hours; of rain mm a day
	Limit        float64 // Mean is above it
}

// SourceQuality is how good one source's forecasts have been at a site.
type SourceQuality struct {
	Source string
	// Own says that the forecasts were held against later words of the same source,
	// beside which they look better than they are.
	Own   bool
	Error weather.ForecastError
	Bias  []Bias // against a station; empty without one
}

// Bias is what a source's forecasts of the next days were off by.
type Bias struct {
	Var    weather.Var
	All    weather.Error
	ByHour [24]weather.Error // of the site's local clock
}

// Doubt is a doubt of what one station measures.
type Doubt struct {
	Source string
	weather.Doubt
	// Open says that it holds for what comes now, too.
	Open bool
	// Right is, of an open one, since when the newest two weeks as a whole no longer
	// show it; zero while they do.
	Right time.Time
}

// SetAside counts the values of one source that one check took out.
type SetAside struct {
	Source string
	Fault  weather.Fault
	N      int
	Last   time.Time // hour of the newest
	Reason string    // why the newest was
}
