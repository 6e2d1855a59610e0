package service

import (
	"math"
	"slices"
	"strings"
	"time"

	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/weather/source"
)

// measuring returns the names of the sources that measured any of the hours, or
// whose measurements were set aside, in order.
func measuring(s *weather.Series, aside []weather.Reject) []string {
	var out []string
	for _, o := range s.Origins() {
		if measured(o) {
			out = append(out, o.Source)
		}
	}
	for _, r := range aside {
		if measured(r.Origin) {
			out = append(out, r.Origin.Source)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func measured(o weather.Origin) bool { return o.Kind == weather.Station || o.Kind == weather.Nearby }

// measuredBy returns what one source said of the hours, what was set aside of it
// put back: the values that cannot be show a wrong unit best.
func measuredBy(s *weather.Series, aside []weather.Reject, name string) *weather.Series {
	out := weather.NewSeries(s.Start(), s.Len())
	h, err := out.AddOrigin(weather.Origin{Source: name, Kind: weather.Station})
	if err != nil { // a new series has room
		panic(err)
	}
	for v := range weather.NumVars {
		for i := range s.Column(v) {
			if o, ok := s.OriginAt(v, i); ok && o.Source == name && measured(o) {
				out.Set(v, i, s.Value(v, i), h)
			}
		}
	}
	for _, r := range aside {
		if i := out.Index(r.Time); r.Origin.Source == name && i >= 0 && i < out.Len() {
			out.Set(r.Var, i, r.Value, h)
		}
	}
	return out
}

// doubtsOf looks at what one source measured. A doubt that reaches to the end
// holds for what comes now, too.
func doubtsOf(s *weather.Series, name string, ref *weather.Series, site *garden.Site) []store.Doubt {
	var out []store.Doubt
	for _, d := range weather.Doubts(s, ref, site.Latitude, site.Longitude) {
		out = append(out, store.Doubt{Source: name, Doubt: d, Open: !d.To.Before(s.End())})
	}
	return out
}

// withhold returns a copy of a series without the values that sure doubts touch,
// and those values in order of time; of doubts that are open all values from the stretch on. With
// now set only the open ones count, for whatever hour.
func withhold(s *weather.Series, doubts []store.Doubt, now bool) (*weather.Series, []weather.Reject) {
	var out *weather.Series
	var rejects []weather.Reject
	for _, d := range doubts {
		if !d.Sure || now && !d.Open {
			continue
		}
		for _, v := range d.Vars {
			for i := range s.Column(v) {
				at, left := s.Time(i), s
				if out != nil {
					left = out // an earlier doubt may have taken it
				}
				o, ok := left.OriginAt(v, i)
				if !ok || o.Source != d.Source || !measured(o) || !now && (at.Before(d.From) || !d.Open && !at.Before(d.To)) {
					continue
				}
				if out == nil {
					out = s.Slice(0, s.Len())
				}
				out.Set(v, i, math.NaN(), 0)
				rejects = append(rejects, weather.Reject{Time: at, Var: v, Value: s.Value(v, i), Origin: o, Fault: d.Fault, Reason: d.Reason})
			}
		}
	}
	if out == nil {
		return s, nil
	}
	slices.SortStableFunc(rejects, func(a, b weather.Reject) int { return a.Time.Compare(b.Time) })
	return out, rejects
}

// doubtError is what the status of a station says while it is doubted; nil when
// it is not.
func doubtError(name string, doubts []store.Doubt, zone *time.Location) error {
	for _, d := range doubts {
		// A service names its stations after itself.
		if d.Source != name && !strings.HasPrefix(d.Source, name+" ") || !d.Sure || !d.Open {
			continue
		}
		c := source.WrongUnit
		if d.Fault == weather.FaultClock {
			c = source.Shifted
		}
		return source.Errorf(name, c, "since %s: %s. Its readings are kept aside until they have been right for two weeks", d.From.In(zone).Format("2 January"), d.Reason)
	}
	return nil
}
