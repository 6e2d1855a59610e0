package station

import (
	"errors"
	"fmt"
	"math"
	"net/url"
	"strconv"
	"strings"
	"time"

	"plotwarden/weather"
)

// consoleFields are the fields of the form that many consoles send, in their
// units. Fields that are not here are ignored: consoles send dozens. Leaf
// wetness is left out, as its scale differs from make to make. The first of two
// fields for one column counts.
var consoleFields = []struct {
	name string
	to   weather.Var
	unit string
}{
	{"tempf", weather.Temp, "F"},
	{"humidity", weather.RH, "%"},
	{"dewptf", weather.DewPoint, "F"},
	{"windspeedmph", weather.Wind, "mph"},
	{"solarradiation", weather.Solar, "W/m2"},
	{"soiltempf", weather.Soil, "F"},
	{"soiltemp1f", weather.Soil, "F"},
}

const (
	dailyRain   = "dailyrainin" // inches since local midnight
	consoleTime = "dateutc"
	// consoleMissing and lower stand for a sensor that does not answer.
	consoleMissing = -999
	// momentHolds is how long a moment's radiation may stand for the mean.
	momentHolds = 20 * time.Minute
)

// DecodeConsole reads a form that arrived at now. The rain is found by gauge,
// which must be the station's own. Radiation is a moment's value and counts for
// the time since the reading before, if that is not longer than momentHolds.
func DecodeConsole(form url.Values, now time.Time, gauge *Gauge) (Observation, error) {
	t := now
	switch at := form.Get(consoleTime); at {
	case "":
		return Observation{}, errors.New("no dateutc: not a reading of a console")
	case "now":
	default:
		var err error
		if t, err = time.Parse("2006-01-02 15:04:05", strings.ReplaceAll(at, "+", " ")); err != nil {
			return Observation{}, fmt.Errorf("dateutc: %.40q is neither \"now\" nor a time as 2026-06-21 10:32:35", at)
		}
	}
	o := NewObservation(t)
	for _, f := range consoleFields {
		x, err := consoleNumber(form, f.name)
		if err != nil {
			return Observation{}, err
		}
		if math.IsNaN(x) || !math.IsNaN(o.Values[f.to]) {
			continue
		}
		s, _, err := scaleOf(f.to, f.unit)
		if err != nil {
			return Observation{}, err
		}
		o.Values[f.to] = s.apply(x)
	}
	total, err := consoleNumber(form, dailyRain)
	if err != nil {
		return Observation{}, err
	}
	o.Values[weather.Rain], o.Interval = gauge.Since(o.Time, total*25.4)
	switch {
	case o.Interval == 0:
		o.Interval = 10 * time.Minute
	case o.Interval > momentHolds:
		o.Values[weather.Solar] = math.NaN()
	}
	if o.Empty() && math.IsNaN(total) {
		return Observation{}, errors.New("no field that we know has a value")
	}
	return o, nil
}

// consoleNumber returns NaN for a field that is absent, empty or stands for a
// missing sensor.
func consoleNumber(form url.Values, name string) (float64, error) {
	text := strings.TrimSpace(form.Get(name))
	if text == "" {
		return math.NaN(), nil
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, fmt.Errorf("%s: %.40q is not a number", name, text)
	}
	if x <= consoleMissing {
		return math.NaN(), nil
	}
	return x, nil
}
