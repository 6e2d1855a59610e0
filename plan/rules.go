package plan

import "plotwarden/risk"

// Rules are the adjustable numbers of a decision.
type Rules struct {
	// ApproachingDays and ActDays are the leads at which a planting is
	// approaching (median date) and to be acted on (early date): prevention
	// starts two to four weeks before the usual date.
	ApproachingDays int
	ActDays         int
	// StaleHours is how old the newest observed hour may be.
	StaleHours int
	// LastingDays is for how long a stage that was reached, or a find, keeps a
	// planting at act or present without a new look.
	LastingDays int
	// InfectionDays is how far ahead a forecast infection calls for action, and
	// how long one that has passed does.
	InfectionDays int
}

// DefaultRules returns the defaults: 28 and 14 days (two to four weeks, common
// practice), 24 hours, 21 and 7 days (common practice).
func DefaultRules() Rules {
	return Rules{ApproachingDays: 28, ActDays: 14, StaleHours: 24, LastingDays: 21, InfectionDays: 7}
}

// practice is the source of the rules that have none.
var practice = risk.Source{Text: "common practice: prevention starts two to four weeks before the usual date", Standing: risk.CommonPractice}
