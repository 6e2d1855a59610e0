package weather

import (
	"fmt"
	"slices"
)

// Restored makes a series of values that were set aside, from the first of their
// hours to the last, for when the reason was withdrawn. They count as fetched
// in the first of these hours, so that what came since stays. It is nil for none.
func Restored(rejects []Reject) (*Series, error) {
	if len(rejects) == 0 {
		return nil, nil
	}
	byTime := func(a, b Reject) int { return a.Time.Compare(b.Time) }
	first, last := slices.MinFunc(rejects, byTime).Time, slices.MaxFunc(rejects, byTime).Time
	s := NewSeries(first, int(last.Sub(first).Hours())+1)
	for _, r := range rejects {
		o := r.Origin
		o.Fetched = first
		h, err := s.AddOrigin(o)
		if err != nil {
			return nil, fmt.Errorf("put back values of %s: %w", o.Source, err)
		}
		s.Set(r.Var, s.Index(r.Time), r.Value, h)
	}
	return s, nil
}
