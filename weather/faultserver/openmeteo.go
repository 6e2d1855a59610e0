package faultserver

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"
)

// members is how many runs besides the control the ensemble has.
const members = 4

// answer is a good answer, or one changed by a fault of the second group.
func (s *Server) answer(f Fault, w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	first, hours, wrong := s.span(f, q)
	if wrong != "" {
		refuse(w, "%s", wrong)
		return
	}
	vars := strings.Split(q.Get("hourly"), ",")
	for _, name := range vars {
		if _, ok := world[name]; !ok {
			refuse(w, "Data corrupted at path ''. Cannot initialize SurfacePressureAndHeightVariable from invalid String value %s.", name)
			return
		}
	}
	if q.Get("timezone") != "GMT" || q.Get("timeformat") != "unixtime" || q.Get("wind_speed_unit") != "ms" {
		refuse(w, "this server wants GMT, unixtime and metres per second")
		return
	}
	runs := 0
	if strings.HasSuffix(r.URL.Path, "/ensemble") {
		runs = members
	}
	lats, lons := strings.Split(q.Get("latitude"), ","), strings.Split(q.Get("longitude"), ",")
	if len(lats) != len(lons) {
		refuse(w, "Parameter 'latitude' and 'longitude' must have the same number of elements")
		return
	}
	s.mu.Lock()
	spread := s.spread
	s.mu.Unlock()
	b := make([]byte, 0, len(lats)*hours*(11+6*len(vars)*(runs+1)))
	if len(lats) > 1 {
		b = append(b, '[')
	}
	for i := range lats {
		lat, errLat := strconv.ParseFloat(lats[i], 64)
		lon, errLon := strconv.ParseFloat(lons[i], 64)
		if errLat != nil || errLon != nil || math.Abs(lat) > 90 || math.Abs(lon) > 180 {
			refuse(w, "Latitude must be in range of -90 to 90°. Given: %s.", lats[i])
			return
		}
		if i > 0 {
			b = append(b, ',')
		}
		b = appendPlace(b, f, lat, lon, first, hours, vars, runs, spread)
	}
	if len(lats) > 1 {
		b = append(b, ']')
	}
	s.mu.Lock()
	s.places += len(lats)
	s.bytes += int64(len(b))
	s.mu.Unlock()
	send(w, 200, "application/json; charset=utf-8", b)
}

// span returns the first hour and the number of hours that a query asks for, or
// what is wrong with it in the service's words.
func (s *Server) span(f Fault, q url.Values) (first time.Time, hours int, wrong string) {
	if q.Has("start_date") {
		from, err1 := time.Parse(time.DateOnly, q.Get("start_date"))
		to, err2 := time.Parse(time.DateOnly, q.Get("end_date"))
		if err1 != nil || err2 != nil || to.Before(from) {
			return from, 0, "Invalid date range"
		}
		return from, int(to.Sub(from).Hours()) + 24, ""
	}
	now := s.now()
	if f == Stale {
		now = now.AddDate(0, 0, -3)
	}
	past, _ := strconv.Atoi(q.Get("past_days"))
	ahead, err := strconv.Atoi(q.Get("forecast_days"))
	if err != nil || past < 0 || past > 92 || ahead < 0 || ahead > 36 {
		return now, 0, "Past days is invalid. Allowed range 0 to 92."
	}
	return now.UTC().Truncate(24*time.Hour).AddDate(0, 0, -past), 24 * (past + ahead), ""
}

func appendPlace(b []byte, f Fault, lat, lon float64, first time.Time, hours int, vars []string, runs int, spread float64) []byte {
	atLon, offset := lon, 0
	if f == AnotherPlace {
		atLon = math.Mod(lon+360, 360) - 180
	}
	if f == OtherZone {
		offset = -4 * 3600
	}
	b = fmt.Appendf(b, `{"latitude":%.3f,"longitude":%.3f,"generationtime_ms":0.1,"utc_offset_seconds":%d,"timezone":"GMT","timezone_abbreviation":"GMT","elevation":100,"hourly_units":{"time":"unixtime"`, lat, atLon, offset)
	each := func(do func(name, suffix string, run int)) {
		for _, name := range vars {
			if f == NoHumidity && name == "relative_humidity_2m" {
				continue
			}
			do(name, "", 0)
			for m := 1; m <= runs; m++ {
				do(name, fmt.Sprintf("_member%02d", m), m)
			}
		}
	}
	each(func(name, suffix string, _ int) {
		unit := world[name].unit
		if f == OtherUnits && unit == "°C" {
			unit = "°F"
		}
		b = fmt.Appendf(b, `,"%s%s":%q`, name, suffix, unit)
	})
	b = append(b, `},"hourly":{"time":[`...)
	for i := range hours {
		if i > 0 {
			b = append(b, ',')
		}
		b = strconv.AppendInt(b, first.Unix()+int64(3600*i+offset), 10)
	}
	b = append(b, ']')
	each(func(name, suffix string, run int) {
		v := world[name]
		b = append(append(append(append(b, `,"`...), name...), suffix...), `":[`...)
		for i := range hours {
			if i > 0 {
				b = append(b, ',')
			}
			if f == NullTail && i >= hours-24 {
				b = append(b, "null"...)
				continue
			}
			t := first.Add(time.Duration(i) * time.Hour)
			if f == ShiftedHour {
				t = t.Add(-time.Hour)
			}
			x := v.at(t, lat, lon) + float64(run)*v.spread*spread
			if (f == OtherUnits || f == SilentUnits) && v.unit == "°C" {
				x = x*1.8 + 32
			}
			b = strconv.AppendFloat(b, math.Round(x*10)/10, 'f', -1, 64)
		}
		b = append(b, ']')
	})
	return append(b, "}}"...)
}

func refuse(w http.ResponseWriter, format string, args ...any) {
	send(w, 400, "application/json", fmt.Appendf(nil, `{"error":true,"reason":%q}`, fmt.Sprintf(format, args...)))
}
