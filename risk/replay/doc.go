// Package replay runs a past season as if it were live: on each day with the
// weather measured until then, the forecast that was kept from that day or, where
// none was, the days that followed with a forecast's error added, and other years
// of the place. What it then said is held against what came.
//
// Randomness comes in as an argument: the draws that make up errors of forecasts
// that were not kept. Such errors are as large as the outlook expects them to be,
// which real ones need not be.
package replay
