package weather

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// Error sums up how far values of a source lie from those measured.
type Error struct {
	N    int     // hours compared
	Bias float64 // mean of source less measured, in the unit of the variable; NaN when N is 0
	MAE  float64 // mean absolute difference; NaN when N is 0
}

// Bias is what a source is off by, against a station, for one variable.
type Bias struct {
	Source   string
	Var      Var
	Zone     *time.Location
	Analysis Error     // accounts of past hours
	Forecast Error     // forecasts of all leads
	ByHour   [24]Error // both, by the hour of the local clock of Zone
	ByLead   []Error   // forecasts, by whole days from when it was issued to the hour; one that does not say is left out
}

// EstimateBias compares the values of one source with those that a station, the
// grower's own or a nearby one, measured at the same hours. The series of the
// source may overlap: many forecasts of one hour, issued at different times, each
// count. Values already corrected are left out.
func EstimateBias(station *Series, source string, v Var, zone *time.Location, issued ...*Series) Bias {
	b := Bias{Source: source, Var: v, Zone: zone}
	var analysis, forecast errorSum
	var byHour [24]errorSum
	var byLead []errorSum
	for _, s := range issued {
		for i := range s.cols[v] {
			o, ok := s.OriginAt(v, i)
			at := s.Time(i)
			j := station.Index(at)
			measured, known := station.OriginAt(v, j)
			if !ok || !known || o.Source != source || o.Corrected || measured.Kind != Station && measured.Kind != Nearby {
				continue
			}
			off := s.cols[v][i] - station.Value(v, j)
			switch o.Kind {
			case Analysis:
				analysis.add(off)
			case Forecast:
				forecast.add(off)
				if lead := at.Sub(o.Issued); !o.Issued.IsZero() && lead >= 0 {
					day := int(lead.Hours() / 24)
					for len(byLead) <= day {
						byLead = append(byLead, errorSum{})
					}
					byLead[day].add(off)
				}
			default:
				continue
			}
			byHour[at.In(zone).Hour()].add(off)
		}
	}
	b.Analysis, b.Forecast = analysis.error(), forecast.error()
	for h, e := range byHour {
		b.ByHour[h] = e.error()
	}
	for _, e := range byLead {
		b.ByLead = append(b.ByLead, e.error())
	}
	return b
}

type errorSum struct{ off, abs sum }

func (e *errorSum) add(off float64) {
	e.off.add(off)
	e.abs.add(math.Abs(off))
}

func (e errorSum) error() Error { return Error{N: e.off.n, Bias: e.off.mean(1), MAE: e.abs.mean(1)} }

// correctable are the columns for which taking a mean difference off makes sense.
var correctable = []Var{Temp, DewPoint, RH, Wind, Soil}

// Apply returns a copy of a series in which the bias is taken off the source's
// analyses and forecasts: that of the hour of the clock when at least least hours
// were compared there, else that of the whole kind when as many were, else
// nothing. Corrected values are marked in their origin and are not corrected
// twice. Humidity stays within 0 to 100 and wind above 0.
//
// It is for the site's owner to ask for. After temperature is corrected, humidity
// and dew point of the source no longer fit it unless they are too. It fails for
// a variable that has no additive bias, such as rain, and when the series has no
// room for the new origins.
func (b Bias) Apply(s *Series, least int) (*Series, error) {
	if !slices.Contains(correctable, b.Var) {
		return nil, fmt.Errorf("correct %s: only temperature, dew point, humidity, wind and soil temperature have a bias to take off", b.Var)
	}
	least = max(1, least)
	out := s.Slice(0, s.n)
	for i := range out.cols[b.Var] {
		o, ok := out.OriginAt(b.Var, i)
		if !ok || o.Source != b.Source || o.Corrected || o.Kind != Analysis && o.Kind != Forecast {
			continue
		}
		e := b.ByHour[out.Time(i).In(b.Zone).Hour()]
		if e.N < least {
			e = b.Forecast
			if o.Kind == Analysis {
				e = b.Analysis
			}
		}
		if e.N < least {
			continue
		}
		o.Corrected = true
		h, ok := out.handle(o)
		if !ok {
			return nil, fmt.Errorf("correct %s: a series holds at most %d origins", b.Var, MaxOrigins)
		}
		out.Set(b.Var, i, within(b.Var, out.cols[b.Var][i]-e.Bias), h)
	}
	return out, nil
}

func within(v Var, x float64) float64 {
	switch v {
	case RH:
		return math.Max(0, math.Min(100, x))
	case Wind:
		return math.Max(0, x)
	}
	return x
}
