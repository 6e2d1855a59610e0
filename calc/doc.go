// Package calc computes from files: it reads weather as CSV, runs a method or a
// model over it and writes CSV. It stands apart from the command line so that
// its readers can be tested and fuzzed without a binary, and so that anyone can
// check a published number with a file and one command.
//
// # Files
//
// The first line names the columns, in any order:
//
//	days   date,tmin,tmax[,rain_mm][,wind_ms][,soil_c]
//	hours  time,temp_c,rh_pct,rain_mm,wind_ms[,dewpoint_c][,soil_c][,cloud_pct][,solar_wm2][,wetness]
//
// A date is YYYY-MM-DD. A time is on the hour, 2026-06-01T05:00 with or without
// an offset; without one it is in the zone that the caller names. State belongs
// to the instant, rain to the hour that begins there. An empty field is missing.
// Rows must be in order and none may stand twice; days or hours that are left
// out are missing, and the output has them, so that nobody takes a total over
// them for a whole one.
//
// A fault names file, line and column, and all of them are reported together.
package calc
