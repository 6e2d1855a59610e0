// Package testdata embeds the open data that the demonstration and the tests
// share. Each folder names its source and licence in SOURCE.txt.
package testdata

import "embed"

// Daily has daily/weather.csv: daily observations at Seattle and New York,
// 2012 to 2015.
//
//go:embed daily/weather.csv
var Daily embed.FS
