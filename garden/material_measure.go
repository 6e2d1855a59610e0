package garden

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"plotwarden/civil"
)

// Degrees is a temperature of a label in degrees Celsius. In text it has its
// unit, since labels use both: "32 C", "90 F".
type Degrees float64

// UnmarshalText reads a temperature. It fails on what is no number and on a
// missing or unknown unit: 32 and 90 may be the same temperature.
func (d *Degrees) UnmarshalText(b []byte) error {
	x, unit, err := measure(b, "a temperature", `"32 C" or "90 F"`)
	if err != nil {
		return err
	}
	switch unit {
	case "C", "°C":
		*d = Degrees(x)
	case "F", "°F":
		*d = Degrees((x - 32) / 1.8)
	default:
		return fmt.Errorf("%q: write the unit that the label uses, %s", b, `"32 C" or "90 F"`)
	}
	return nil
}

// MarshalText writes degrees Celsius, to two digits: 90 F is "32.22 C".
func (d Degrees) MarshalText() ([]byte, error) { return []byte(plain(float64(d)) + " C"), nil }

// Speed is a wind speed of a label in metres per second. In text it has its
// unit: "10 mph", "16 km/h", "4.5 m/s".
type Speed float64

// Exact: 1 mile is 1609.344 m.
const (
	mphInMS = 1609.344 / 3600
	kmhInMS = 1 / 3.6
)

// UnmarshalText reads a speed. It fails on what is no number, on numbers below 0
// and on a missing or unknown unit.
func (s *Speed) UnmarshalText(b []byte) error {
	x, unit, err := measure(b, "a wind speed", `"10 mph" or "16 km/h"`)
	if err != nil {
		return err
	}
	if x < 0 {
		return fmt.Errorf("%q is below 0", b)
	}
	switch unit {
	case "m/s":
		*s = Speed(x)
	case "mph":
		*s = Speed(x * mphInMS)
	case "km/h":
		*s = Speed(x * kmhInMS)
	default:
		return fmt.Errorf("%q: write the unit, %s", b, `"10 mph", "16 km/h" or "4.5 m/s"`)
	}
	return nil
}

// MarshalText writes metres per second, to two digits.
func (s Speed) MarshalText() ([]byte, error) { return []byte(plain(float64(s)) + " m/s"), nil }

// mostMeasure bounds what a label could print; beyond it is a slip of the pen.
const mostMeasure = 1000

func measure(b []byte, what, example string) (float64, string, error) {
	number, unit := splitUnit(string(b))
	x, err := strconv.ParseFloat(number, 64)
	if err != nil || !(math.Abs(x) <= mostMeasure) {
		return 0, "", fmt.Errorf("%q is not %s; write %s", b, what, example)
	}
	return x, unit, nil
}

func plain(x float64) string {
	return strconv.FormatFloat(math.Round(x*100)/100, 'f', -1, 64)
}

// ClockTime is a local time of day, "07:00". The empty one is not set.
type ClockTime string

// UnmarshalText reads HH:MM.
func (c *ClockTime) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*c = ""
		return nil
	}
	t, err := time.Parse("15:04", string(b))
	if err != nil {
		return fmt.Errorf("%q is not a time of day of the form 07:00", b)
	}
	*c = ClockTime(t.Format("15:04"))
	return nil
}

// On returns the instant of the time on a local date. It is midnight when the
// time is not set or not of the form HH:MM.
func (c ClockTime) On(d civil.Date, loc *time.Location) time.Time {
	t, _ := time.Parse("15:04", string(c)) // the zero time reads 00:00
	return d.Slot(t.Hour(), t.Minute(), loc)
}

// Next returns the first instant after t at which the local clock shows the time.
func (c ClockTime) Next(t time.Time, loc *time.Location) time.Time {
	d := civil.Of(t, loc)
	for at := c.On(d, loc); ; at = c.On(d, loc) {
		if at.After(t) {
			return at
		}
		d++
	}
}
