package openmeteo

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"time"

	"plotwarden/weather"
	"plotwarden/weather/source"
)

// answer is what the service says of one place.
type answer struct {
	Latitude  *float64                   `json:"latitude"` // of the grid cell
	Longitude *float64                   `json:"longitude"`
	Elevation *float64                   `json:"elevation"`
	Offset    *float64                   `json:"utc_offset_seconds"`
	Units     map[string]string          `json:"hourly_units"`
	Hourly    map[string]json.RawMessage `json:"hourly"`

	name  string  // of the source
	times []int64 // hours since the epoch, rising
}

// farKm is how far the cell of an answer may lie from the place asked for: more
// than the diagonal of the coarsest grid's neighbour cell.
const farKm = 150

// decode reads an answer for n places: an object for one, a list for more.
func decode(name string, body []byte, n int) ([]*answer, error) {
	var out []*answer
	if b := bytes.TrimSpace(body); len(b) > 0 && b[0] == '[' {
		if err := source.DecodeJSON(name, body, &out); err != nil {
			return nil, err
		}
	} else {
		one := &answer{}
		if err := source.DecodeJSON(name, body, one); err != nil {
			return nil, err
		}
		out = append(out, one)
	}
	if len(out) != n {
		return nil, source.Errorf(name, source.BadJSON, "asked for %d places, the answer has %d", n, len(out))
	}
	for _, a := range out {
		if a == nil {
			return nil, source.Errorf(name, source.BadJSON, "an empty place in the answer")
		}
		a.name = name
	}
	return out, nil
}

// cell returns the grid cell of the answer after checking that it is near p.
func (a *answer) cell(p source.Place) (source.Place, error) {
	if a.Latitude == nil || a.Longitude == nil {
		return source.Place{}, source.Errorf(a.name, source.BadJSON, "no latitude or longitude in the answer")
	}
	c := source.Place{ID: p.ID, Lat: *a.Latitude, Lon: *a.Longitude, Elev: math.NaN()}
	if a.Elevation != nil {
		c.Elev = *a.Elevation
	}
	if d := p.DistanceKm(c); math.IsNaN(d) || d > farKm {
		return source.Place{}, source.Errorf(a.name, source.WrongPlace, "asked for %.3f, %.3f; the answer is for %.3f, %.3f, %.0f km away", p.Lat, p.Lon, c.Lat, c.Lon, d)
	}
	return c, nil
}

// readTimes checks that times are whole hours of UTC in rising order.
func (a *answer) readTimes() error {
	if a.Offset == nil || *a.Offset != 0 {
		return source.Errorf(a.name, source.WrongZone, "asked for GMT; the answer's offset is %s seconds", orAbsent(a.Offset))
	}
	raw, ok := a.Hourly["time"]
	if !ok {
		return source.Errorf(a.name, source.MissingVariable, "no hourly times in the answer")
	}
	if u := a.Units["time"]; u != "unixtime" {
		return source.Errorf(a.name, source.WrongUnit, "time: asked for unixtime, got %q", u)
	}
	xs, err := parseColumn(raw)
	if err != nil {
		return source.Errorf(a.name, source.BadTime, "times: %w", err)
	}
	if len(xs) == 0 {
		return source.Errorf(a.name, source.NoData, "no hours in the answer")
	}
	a.times = make([]int64, len(xs))
	for i, x := range xs {
		if !(x >= -1e10 && x <= 1e10) || math.Mod(x, 3600) != 0 {
			return source.Errorf(a.name, source.BadTime, "time %d, %.0f, is not a whole hour", i+1, x)
		}
		a.times[i] = int64(x) / 3600
		if i > 0 && a.times[i] <= a.times[i-1] {
			return source.Errorf(a.name, source.BadTime, "hour %s comes after %s", hourText(a.times[i]), hourText(a.times[i-1]))
		}
	}
	return nil
}

// checkUnits fails on the first variable whose unit is not the one asked for.
// A service that changes one unit is not trusted with the others.
func (a *answer) checkUnits(vs []variable, suffix string) error {
	for _, v := range vs {
		key := v.name + suffix
		if _, here := a.Hourly[key]; !here {
			continue
		}
		if u := a.Units[key]; u != v.unit && !(u == "" && a.allNull(key)) {
			return source.Errorf(a.name, source.WrongUnit, "%s: asked for %s, got %q", key, v.unit, u)
		}
	}
	return nil
}

// allNull says whether a column has no number; the service leaves the unit of
// such a column out.
func (a *answer) allNull(key string) bool { return !bytes.ContainsAny(a.Hourly[key], "0123456789") }

// fill writes the variables into s and returns the names of those that are
// absent or wholly null. A total labelled with the end of its hour goes to the
// hour that begins before. Hours outside s are left out.
func (a *answer) fill(s *weather.Series, vs []variable, suffix string, origin func(i int) uint8) (missing []string, err error) {
	start := s.Start().Unix() / 3600
	for _, v := range vs {
		key := v.name + suffix
		raw, here := a.Hourly[key]
		if !here {
			missing = append(missing, key)
			continue
		}
		xs, err := parseColumn(raw)
		if err != nil {
			return nil, source.Errorf(a.name, source.BadValue, "%s: %w", key, err)
		}
		if len(xs) != len(a.times) {
			return nil, source.Errorf(a.name, source.BadJSON, "%s has %d values for %d hours", key, len(xs), len(a.times))
		}
		if a.allNull(key) {
			missing = append(missing, key)
			continue
		}
		for i, x := range xs {
			at := int(a.times[i] - start)
			if v.preceding {
				at--
			}
			if at >= 0 && at < s.Len() && !math.IsNaN(x) {
				s.Set(v.to, at, x, origin(at))
			}
		}
	}
	return missing, nil
}

// lacking returns an error that names the needed variables among missing.
func lacking(name string, vs []variable, suffix string, missing []string) error {
	var needed []string
	for _, v := range vs {
		for _, m := range missing {
			if v.needed && m == v.name+suffix {
				needed = append(needed, m)
			}
		}
	}
	if needed == nil {
		return nil
	}
	return source.Errorf(name, source.MissingVariable, "%s", strings.Join(needed, ", "))
}

func hourText(h int64) string { return time.Unix(h*3600, 0).UTC().Format("2006-01-02T15Z") }

func orAbsent(x *float64) string {
	if x == nil {
		return "absent"
	}
	return fmt.Sprintf("%g", *x)
}
