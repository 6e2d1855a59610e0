package learn

import "plotwarden/civil"

// Name is the name of a way of predicting.
type Name string

// The ways, in the order in which they are shown.
const (
	Calendar  Name = "calendar mean"
	Published Name = "published threshold"
	Local     Name = "local threshold"
	Blend     Name = "blend"
)

// Names are the ways in order.
func Names() []Name { return []Name{Calendar, Published, Local, Blend} }

// Way is one way of predicting, and how it did.
type Way struct {
	Name   Name
	Usable bool
	Why    string // why it is not usable, in plain words
	// Median, Low and High are the middle and the 10 and 90 % of the next season's
	// value: a total for thresholds, days since the season's start for the
	// calendar. Four seasons in five should come between Low and High.
	Median, Low, High float64
	// Error is the mean of the misses in days, over all scored seasons, each
	// predicted from the others alone; NaN when none could be. The weather of the
	// predicted season is taken as known, so that the error is that of the rule and
	// not of a forecast.
	Error float64
	Tries []Try // one for each season that it was held against
	// Weight is, for the blend, how far the middle has gone from the published
	// threshold (0) to the local one (1).
	Weight float64

	belief belief
}

// Try is one season predicted from the others.
type Try struct {
	Year      int
	Predicted civil.Date
	Off       float64 // predicted less the middle of the log's bracket, days
	Inside    bool    // the bracket's middle lay within the 80 % interval
}

// Covered returns how many of the tries lay within the interval.
func (w *Way) Covered() int {
	n := 0
	for _, t := range w.Tries {
		if t.Inside {
			n++
		}
	}
	return n
}
