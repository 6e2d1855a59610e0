package weather

import "math"

// Derive returns a copy of the series in which humidity is worked out from
// temperature and dew point where it is missing, and dew point from temperature
// and humidity. A value so made has the origin of the less trusted of its two
// parents when both are of one source, and else one that names both. Where a
// parent is missing or the two contradict each other (a dew point more than
// DewSlack above the temperature, humidity of 0) the hour stays unknown.
func Derive(s *Series) *Series {
	out := s.Slice(0, s.n)
	out.derive()
	return out
}

func (s *Series) derive() {
	for i := range s.cols[Temp] {
		t := s.cols[Temp][i]
		if math.IsNaN(t) {
			continue
		}
		rh, dew := s.Value(RH, i), s.Value(DewPoint, i)
		switch {
		case math.IsNaN(rh) == math.IsNaN(dew):
		case math.IsNaN(rh):
			s.setDerived(RH, i, RelHumidity(t, dew), DewPoint)
		default:
			s.setDerived(DewPoint, i, DewPointFromRH(t, rh), RH)
		}
	}
}

// setDerived stores a value made of the temperature and parent at hour i.
func (s *Series) setDerived(v Var, i int, x float64, parent Var) {
	if math.IsNaN(x) {
		return
	}
	h := s.prov[Temp][i]
	if p := s.prov[parent][i]; p != h {
		a, b := s.origins[h-1], s.origins[p-1]
		if b.Kind > a.Kind {
			h, a, b = p, b, a
		}
		if a.Source != b.Source {
			o := a
			o.Source = joinSources(a, b)
			o.Corrected = a.Corrected || b.Corrected
			var ok bool
			if h, ok = s.handle(o); !ok {
				return
			}
		}
	}
	s.Set(v, i, x, h)
}
