// Package learn turns a grower's log into a forecast of arrival: what the dates
// of past seasons say of the next one, how far each way of predicting was off
// when it was made to predict every season from the others, and how sure one can
// be with so few.
//
// A log's dates are brackets: between the last look that found nothing and the
// first that found something. A season without a find is censored and not
// missing: it says that the arrival, if there was one, came after the last look.
// A spray before the find ends what the season can say.
//
// Four ways of predicting are compared. The calendar mean knows only dates. The
// published threshold is the model's own. The local threshold is the total at
// which the pest came in the log, with the model's base and start as published.
// The blend is the published threshold moved toward the log, the further the
// more seasons there are. Everything is pure; randomness is not used.
package learn
