package outlook

import (
	"math"
	"time"

	"plotwarden/weather"
)

// How runs of an ensemble are taken. common practice
const (
	alignHours = 72 // over which the runs' mean is moved onto the forecast
	leastAlign = 24 // hours compared, from which it is moved
	leastRuns  = 5  // fewer say too little of the spread
)

// EnsembleVersions makes versions of a site's forecast of the runs of an ensemble:
// the hours of w before now, then those of one run each, in all variables that runs
// carry; the variables that none carries stay as forecast. The whole ensemble is
// moved by its mean difference from w over the first three days, in temperature and
// dew point, so that a coarse grid's height and a station's correction do not count
// as warmth to come; the runs' spread stays as it is. A run is cut where its
// temperature ends. It returns nil when fewer than five runs reach past now.
//
// The spread of an ensemble is that of its runs. In the first days it is commonly
// smaller than the error of the forecast.
func EnsembleVersions(w *weather.Series, now time.Time, runs []*weather.Series) []*weather.Series {
	n := max(0, w.Index(now))
	var use []*weather.Series
	for _, r := range runs {
		if end := lastKnown(r); end > r.Index(now)+24 {
			use = append(use, weather.Derive(r.Slice(r.Index(now), end)))
		}
	}
	if len(use) < leastRuns {
		return nil
	}
	var carried [weather.NumVars]bool
	for _, r := range use {
		for v := range weather.NumVars {
			carried[v] = carried[v] || r.Column(v) != nil
		}
	}
	off := meanOffset(w, use)
	var out []*weather.Series
	for _, r := range use {
		s, ok := version(w, n, r, carried, off)
		if !ok {
			return nil
		}
		out = append(out, s)
	}
	return out
}

// version is the hours of w before n, then those of r.
func version(w *weather.Series, n int, r *weather.Series, carried [weather.NumVars]bool, off float64) (*weather.Series, bool) {
	s := w.Slice(0, n).Extend(w.Start(), r.End())
	for v := range weather.NumVars {
		from := w
		if carried[v] {
			from = r
		}
		shift := 0.0
		if carried[v] && (v == weather.Temp || v == weather.DewPoint) {
			shift = off
		}
		for i := n; i < s.Len(); i++ {
			k := from.Index(s.Time(i))
			o, ok := from.OriginAt(v, k)
			if !ok {
				continue
			}
			h, err := s.AddOrigin(o)
			if err != nil { // more origins than a series can tell apart
				return nil, false
			}
			s.Set(v, i, from.Value(v, k)-shift, h)
		}
	}
	return s, true
}

// meanOffset is how much warmer the runs are than w in its first days.
func meanOffset(w *weather.Series, runs []*weather.Series) float64 {
	sum, hours := 0.0, 0
	for i := range alignHours {
		at := runs[0].Time(i)
		x, mean, n := w.Value(weather.Temp, w.Index(at)), 0.0, 0
		for _, r := range runs {
			if y := r.Value(weather.Temp, r.Index(at)); !math.IsNaN(y) {
				mean += y
				n++
			}
		}
		if n == len(runs) && !math.IsNaN(x) {
			sum += mean/float64(n) - x
			hours++
		}
	}
	if hours < leastAlign {
		return 0
	}
	return sum / float64(hours)
}

// lastKnown is the hour after the last one with a temperature.
func lastKnown(s *weather.Series) int {
	n := s.Len()
	for n > 0 && math.IsNaN(s.Value(weather.Temp, n-1)) {
		n--
	}
	return n
}
