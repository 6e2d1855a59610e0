// Package station takes in readings of a grower's own weather station, whatever
// its make: a JSON document of ours, sent by HTTP or MQTT; the form that many
// consoles send; and CSV files with a map of their columns and units. All become
// Observations, and Hours makes hours of those.
//
// The JSON document is one observation or a list of them:
//
//	{"observations": [
//	  {"time": "2026-06-21T10:30:00Z", "interval_s": 600,
//	   "temperature_c": 21.4, "humidity_pct": 90, "dew_point_c": 19.7,
//	   "rain_mm": 0.2, "wind_ms": 1.4, "radiation_wm2": 310,
//	   "soil_temperature_c": 17.2, "wetness": 0.5}
//	]}
//
// Only time is needed, with its zone; the rest may be left out or null, which is
// unknown. It is when the reading was taken. Rain, radiation (its mean) and
// wetness (the share of the time that the sensor was wet, 0 to 1) are of the
// interval_s seconds before it, 1 to 86400, which they need.
package station
