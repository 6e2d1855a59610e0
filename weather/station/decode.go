package station

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"time"

	"plotwarden/strict"
	"plotwarden/weather"
)

// MaxObservations is the most that one document may hold.
const MaxObservations = 10000

// keys of the document and what they become.
var keys = map[string]weather.Var{
	"temperature_c":      weather.Temp,
	"humidity_pct":       weather.RH,
	"dew_point_c":        weather.DewPoint,
	"rain_mm":            weather.Rain,
	"wind_ms":            weather.Wind,
	"radiation_wm2":      weather.Solar,
	"soil_temperature_c": weather.Soil,
	"wetness":            weather.Wetness,
}

func keyNames() []string {
	out := []string{"time", "interval_s"}
	for k := range keys {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// Decode reads a document. Errors name the observation, the key and the fix; a
// document with an error gives nothing.
func Decode(b []byte) ([]Observation, error) {
	var doc map[string]json.RawMessage
	if err := object(b, &doc); err != nil {
		return nil, err
	}
	list, has := doc["observations"]
	if !has {
		o, err := decodeOne(doc)
		if err != nil {
			return nil, err
		}
		return []Observation{o}, nil
	}
	for k := range doc {
		if k != "observations" {
			return nil, fmt.Errorf("key %q stands beside \"observations\"; put it into each of them", k)
		}
	}
	var items []map[string]json.RawMessage
	if err := json.Unmarshal(list, &items); err != nil || items == nil {
		return nil, errors.New("\"observations\" is not a list of objects")
	}
	if len(items) > MaxObservations {
		return nil, fmt.Errorf("%d observations in one document; send at most %d", len(items), MaxObservations)
	}
	out := make([]Observation, 0, len(items))
	for i, m := range items {
		o, err := decodeOne(m)
		if err != nil {
			return nil, fmt.Errorf("observations[%d]: %w", i, err)
		}
		out = append(out, o)
	}
	return out, nil
}

func object(b []byte, doc *map[string]json.RawMessage) error {
	d := json.NewDecoder(bytes.NewReader(b))
	var syntax *json.SyntaxError
	switch err := d.Decode(doc); {
	case errors.As(err, &syntax):
		return fmt.Errorf("not JSON, at byte %d: %w", syntax.Offset, err)
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return errors.New("the document is empty or ends too early")
	case err != nil || *doc == nil:
		return errors.New("want a JSON object")
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return errors.New("something stands after the JSON object")
	}
	return nil
}

func decodeOne(m map[string]json.RawMessage) (Observation, error) {
	var at string
	raw, has := m["time"]
	if !has {
		return Observation{}, errors.New("no time")
	}
	if json.Unmarshal(raw, &at) != nil {
		return Observation{}, fmt.Errorf("time: %.40s is not text, as \"2026-06-21T10:30:00Z\"", raw)
	}
	t, err := time.Parse(time.RFC3339, at)
	if err != nil {
		return Observation{}, fmt.Errorf("time: %.40q is not a time with its zone, as \"2026-06-21T10:30:00Z\"", at)
	}
	o := NewObservation(t)
	if y := o.Time.Year(); y < 1900 || y > 2200 {
		return Observation{}, fmt.Errorf("time: the year %d", y)
	}
	for k, raw := range m {
		v, known := keys[k]
		if !known && k != "time" && k != "interval_s" {
			return Observation{}, errors.New(strict.Unknown("key", k, keyNames()))
		}
		if k == "time" || string(raw) == "null" {
			continue
		}
		var x float64
		if err := json.Unmarshal(raw, &x); err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
			return Observation{}, fmt.Errorf("%s: %.40s is not a number", k, raw)
		}
		if k == "interval_s" {
			if o.Interval = time.Duration(x * float64(time.Second)); !(x >= 1) || x > MaxInterval.Seconds() {
				return Observation{}, fmt.Errorf("interval_s: %g is not between 1 and %.0f", x, MaxInterval.Seconds())
			}
			continue
		}
		o.Values[v] = x
	}
	return o, o.check()
}

// check says what contradicts itself in one observation.
func (o *Observation) check() error {
	for k, v := range keys {
		x := o.Values[v]
		switch {
		case math.IsNaN(x):
		case ofInterval(v) && o.Interval <= 0:
			return fmt.Errorf("%s needs interval_s: the seconds that it is of", k)
		case v == weather.Rain && x < 0:
			return fmt.Errorf("%s: %g is below 0", k, x)
		case v == weather.Wetness && (x < 0 || x > 1):
			return fmt.Errorf("%s: %g is not between 0 and 1", k, x)
		}
	}
	return nil
}
