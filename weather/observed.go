package weather

import "time"

// LastObserved returns the end of the last hour that has begun by now and has a
// temperature that was observed: measured by a station or told by an analysis.
// It is not after now. It is the zero time when there is none.
//
// The time since then is how stale the weather is; what lies after it is a guess.
func LastObserved(s *Series, now time.Time) time.Time {
	for i := min(s.n-1, s.Index(now)); i >= 0; i-- {
		if o, ok := s.OriginAt(Temp, i); ok && o.Kind.Observed() {
			if end := s.Time(i + 1); end.Before(now) {
				return end
			}
			return now.UTC()
		}
	}
	return time.Time{}
}
