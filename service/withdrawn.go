package service

import (
	"context"
	"slices"
	"time"

	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/weather"
)

// A doubt that was sure once does not end because the days that showed it leave the
// weeks that are looked at: what it touched would be believed again. It is withdrawn
// when its own days, looked at again beside what is known now, no longer show it. One
// that is open closes when the station has read right for two weeks: the newest two
// weeks stop showing it when half of them are right, and a week later all are. What
// came in them is put back.
const (
	leastReadable = 14 * 24            // hours, the shortest stretch of which weather.Doubts can tell
	rightFor      = 7 * 24 * time.Hour // after its first half
)

// carried returns the doubts of one source that hold at the end of s: those just
// found, and of the sure ones before them those that nothing takes back. s is what the
// source measured of late, values set aside included.
func carried(old, fresh []store.Doubt, s, ref *weather.Series, name string, site *garden.Site) []store.Doubt {
	out := slices.Clone(fresh)
	for _, d := range old {
		if d.Source != name || !d.Sure {
			continue
		}
		i := foundAgain(out, d)
		if i >= 0 && (out[i].Open || !d.Open) {
			if d.From.Before(out[i].From) { // what showed it first has left the weeks looked at
				out[i].From = d.From
			}
			continue
		}
		if i < 0 && withdrawn(d, s, ref, site) {
			continue
		}
		if i >= 0 { // the open one covers it
			d.From = earlier(d.From, out[i].From)
			out = slices.Delete(out, i, i+1)
		}
		if d.Open {
			d = closing(d, s)
		}
		out = append(out, d)
	}
	slices.SortStableFunc(out, func(a, b store.Doubt) int { return a.From.Compare(b.From) })
	return out
}

// closing closes an open doubt that was not found again when that has been so for
// long enough. Where too little came, it stays.
func closing(d store.Doubt, s *weather.Series) store.Doubt {
	first := s.Len() - leastReadable
	if first < 0 || knownIn(s, d.Vars, first, s.Len()) < leastReadable/2 {
		return d
	}
	if d.Right.IsZero() {
		d.Right = s.End()
	}
	if s.End().Sub(d.Right) >= rightFor {
		d.Open, d.Right, d.To = false, time.Time{}, s.Time(first)
		d.From = earlier(d.From, d.To)
	}
	return d
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

// foundAgain returns which of the doubts just found is one of before, -1 when none is.
func foundAgain(fresh []store.Doubt, d store.Doubt) int {
	return slices.IndexFunc(fresh, func(f store.Doubt) bool {
		same := f.Source == d.Source && f.Fault == d.Fault && f.Late == d.Late && slices.Equal(f.Vars, d.Vars) && (f.Fault == weather.FaultClock || f.Reason == d.Reason)
		return f.Sure && same && !f.From.After(d.To) && (f.Open || !d.From.After(f.To))
	})
}

// withdrawn says whether a doubt's own days no longer show it. Days that have left the
// weeks that are looked at, or are too few, take nothing back.
func withdrawn(d store.Doubt, s, ref *weather.Series, site *garden.Site) bool {
	from, to := s.Index(d.From), min(s.Index(d.To), s.Len())
	if from < 0 || to-from < leastReadable || knownIn(s, d.Vars, from, to) < leastReadable/2 {
		return false
	}
	for _, again := range weather.Doubts(s.Slice(from, to), ref, site.Latitude, site.Longitude) {
		if again.Sure && again.Fault == d.Fault {
			return false
		}
	}
	return true
}

// knownIn counts the hours from first to last in which any of the variables is known.
func knownIn(s *weather.Series, vars []weather.Var, first, last int) int {
	n := 0
	for i := first; i < last; i++ {
		if slices.ContainsFunc(vars, func(v weather.Var) bool { x := s.Value(v, i); return x == x }) {
			n++
		}
	}
	return n
}

// putBack takes what was set aside for doubts that no longer hold back into the
// site's weather, source by source, and returns how much that was. Values that cannot
// be stay aside.
func (s *Service) putBack(ctx context.Context, site *garden.Site, aside []weather.Reject, doubts []store.Doubt) (int, error) {
	bySource := map[string][]weather.Reject{}
	for _, r := range aside {
		if (r.Fault == weather.FaultUnit || r.Fault == weather.FaultClock) && measured(r.Origin) && !doubted(r, doubts) {
			bySource[r.Origin.Source] = append(bySource[r.Origin.Source], r)
		}
	}
	n := 0
	for _, list := range bySource {
		series, err := weather.Restored(list)
		if err != nil {
			return n, err
		}
		clean, _ := weather.Check(series, weather.DefaultLimits())
		list = slices.DeleteFunc(list, func(r weather.Reject) bool { _, ok := clean.OriginAt(r.Var, clean.Index(r.Time)); return !ok })
		if err := s.o.Store.PutBack(ctx, site.ID, list); err != nil {
			return n, err
		}
		n += len(list)
	}
	return n, nil
}

// doubted says whether a sure doubt touches a value that was set aside.
func doubted(r weather.Reject, doubts []store.Doubt) bool {
	return slices.ContainsFunc(doubts, func(d store.Doubt) bool {
		return d.Sure && d.Source == r.Origin.Source && slices.Contains(d.Vars, r.Var) && !r.Time.Before(d.From) && (d.Open || r.Time.Before(d.To))
	})
}
