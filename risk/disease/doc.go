// Package disease has the numbers of published infection and severity rules as
// small pure functions: tables, response curves, and how a wet period is put
// together hour by hour. Days, unknown hours and running totals are the business
// of package model.
//
// Temperatures are degrees Celsius and hours are whole hours unless said. No
// function rounds what it returns.
package disease

// AirLow and AirHigh bound the temperature, C, that an hour of unknown
// temperature is taken to have had where a bound on a total is asked for. No air
// outside them has been measured where people grow food (common practice).
const (
	AirLow  = -60.0
	AirHigh = 60.0
)

// toF converts a temperature.
func toF(c float64) float64 { return c*1.8 + 32 }
