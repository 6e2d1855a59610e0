package weather

import "time"

// Hour is one hour of a Series, for showing. NaN is missing.
type Hour struct {
	Time   time.Time
	Values [NumVars]float64
	Origin [NumVars]Origin // zero where missing
}

// Hour returns hour i.
func (s *Series) Hour(i int) Hour {
	h := Hour{Time: s.Time(i)}
	for v := range NumVars {
		h.Values[v] = s.Value(v, i)
		h.Origin[v], _ = s.OriginAt(v, i)
	}
	return h
}
