// Package weather holds hours of weather with an explicit missing value and the
// origin of every value, and what can be computed from them without a model of
// a pest: psychrometrics, sun, days, quality. It is pure: no clock, no I/O.
//
// What comes from a source goes this way: Assemble puts raw rows in order, Doubts
// looks at the whole for wrong units and clocks, Check sets single values aside,
// Combine makes one series of all sources, FillGaps closes its short gaps, Days
// and Windows cut it into days. Every step leaves its input as it was.
//
// Units throughout: degrees Celsius, per cent, millimetres, metres per second,
// watts per square metre. Times are UTC and on the hour.
package weather

import "fmt"

// Var names one column of a Series.
type Var uint8

// The columns. A value of Temp to Wind and Soil is the state at the hour's
// start; Rain, Solar and RainChance belong to the hour that begins there.
// Decoders of services that label a total with the end of its hour shift it.
const (
	Temp       Var = iota // air temperature at about 2 m, C
	RH                    // relative humidity at about 2 m, %, 0 to 100
	DewPoint              // dew point, C
	Rain                  // liquid precipitation in the hour, mm
	RainChance            // chance of measurable rain in the hour, %, 0 to 100
	Wind                  // wind speed at 10 m, m/s
	Cloud                 // cloud cover, %, 0 to 100
	Solar                 // global horizontal radiation, mean of the hour, W/m2
	Soil                  // soil temperature at about 6 cm, C
	Wetness               // measured leaf wetness, share of the hour, 0 to 1
	NumVars
)

var varNames = [NumVars]string{"temperature", "humidity", "dew point", "rain", "rain chance", "wind", "cloud", "radiation", "soil temperature", "leaf wetness"}
var varUnits = [NumVars]string{"C", "%", "C", "mm", "%", "m/s", "%", "W/m2", "C", "1"}

// String returns the plain name of the column.
func (v Var) String() string {
	if v < NumVars {
		return varNames[v]
	}
	return fmt.Sprintf("Var(%d)", uint8(v))
}

// Unit returns the unit in which the column is kept.
func (v Var) Unit() string {
	if v < NumVars {
		return varUnits[v]
	}
	return ""
}
