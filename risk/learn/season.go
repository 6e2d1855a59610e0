package learn

import (
	"fmt"

	"plotwarden/civil"
)

// Season is what a log says of one threat in one season at one plot.
type Season struct {
	Year int // in which the season began
	// None is the last look without a find that counts: before the first find, or
	// before the first spray. Zero when nobody looked before.
	None civil.Date
	// First is the first find; zero when there was none, or when a spray came
	// before it.
	First civil.Date
	// Sprayed is the first treatment against the threat when it came before the
	// find, or when there was no find.
	Sprayed civil.Date
	Place   Place
}

// Place says whose log a season is from. Plots of one Ground share its weather
// and its neighbours; grounds of one Region share a climate.
type Place struct{ Region, Ground, Plot string }

// MaxBracket is the longest bracket, in days, whose middle may stand for the
// arrival when errors are counted. Longer ones still count where a threshold is
// estimated.
const MaxBracket = 21

// Found says whether the season has a find that nothing came before.
func (s *Season) Found() bool { return !s.First.IsZero() }

// Censored says whether the season tells only that the arrival came late.
func (s *Season) Censored() bool { return !s.Found() && !s.None.IsZero() }

// Scored says whether a prediction can be held against the season.
func (s *Season) Scored() bool { return s.Found() && s.First.Sub(s.lower()) <= MaxBracket }

// Middle returns the middle of the bracket in days after a date: what the season
// counts as when a prediction is held against it. A find once a week is late by
// half a week on average (Jones et al. 2008 corrected their records so; read).
func (s *Season) Middle(from civil.Date) float64 {
	return float64(s.lower().AddDays(1).Sub(from)+s.First.Sub(from)) / 2
}

// lower returns the last day on which it was not there yet. When nobody looked
// before, the date of the find is taken as it stands.
func (s *Season) lower() civil.Date {
	if s.None.IsZero() || s.None >= s.First && s.Found() {
		return s.First.AddDays(-1)
	}
	return s.None
}

// Check says what is wrong with a season, or nil.
func (s *Season) Check() error {
	switch {
	case s.Found() && !s.None.IsZero() && s.None >= s.First:
		return fmt.Errorf("season %d: last look without a find %s is not before the first find %s", s.Year, s.None, s.First)
	case s.Found() && !s.Sprayed.IsZero() && s.Sprayed < s.First:
		return fmt.Errorf("season %d: sprayed on %s, before the find on %s; the find tells nothing then", s.Year, s.Sprayed, s.First)
	}
	return nil
}
