package outlook

import (
	"math"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"plotwarden/civil"
	"plotwarden/weather"
)

// Error is how far a forecast of temperature lies off, by whole days of lead:
// the first for the day that begins with the issue.
type Error struct {
	MAE      []float64 // mean absolute error, C
	Bias     []float64 // mean of forecast less measured, C; may be shorter, 0 beyond
	Measured bool      // at least the first lead was measured at this place
}

// ErrorCarry is the correlation of a forecast's errors from one day to the next:
// a forecast that is too warm on one day is likely so on the next (from memory).
const ErrorCarry = 0.7

// StatedError is the error where none was measured: 1.2 C on the first day,
// growing to that of the place's normal, 3.6 C, after two weeks (from memory).
func StatedError() Error {
	return Error{MAE: []float64{1.2, 1.4, 1.6, 1.9, 2.1, 2.4, 2.7, 2.9, 3.1, 3.2, 3.3, 3.4, 3.5, 3.5, 3.6, 3.6}}
}

// MeasuredError takes, for each lead with at least least hours compared, the
// measured error, and for the others the stated one, raised or lowered by as
// much as the measured leads are on average. It is for the ByLead of
// weather.EstimateBias of temperature.
func MeasuredError(byLead []weather.Error, least int) Error {
	e := StatedError()
	ratio, n := 0.0, 0
	for i := range e.MAE {
		if i < len(byLead) && byLead[i].N >= max(1, least) {
			ratio += byLead[i].MAE / e.MAE[i]
			n++
		}
	}
	if n == 0 {
		return e
	}
	ratio /= float64(n)
	e.Bias = make([]float64, len(e.MAE))
	for i := range e.MAE {
		if i < len(byLead) && byLead[i].N >= max(1, least) {
			e.MAE[i], e.Bias[i] = byLead[i].MAE, byLead[i].Bias
			e.Measured = e.Measured || i == 0
			continue
		}
		e.MAE[i] *= ratio
	}
	return e
}

// SD returns the standard deviation of the error of a day: that of a normal
// distribution with the mean absolute error. Leads beyond the last have its error.
func (e Error) SD(lead int) float64 {
	return e.MAE[min(lead, len(e.MAE)-1)] * math.Sqrt(math.Pi/2)
}

// Offsets returns what n equally likely versions of a forecast of some days add
// to its temperatures, by day. They are quantiles and no draws: in version i the
// sum of the offsets to the end of each day stands at the same quantile of all
// sums that errors of this size and ErrorCarry can give, so that a sum of heat
// over the forecast has the right spread after any number of days.
func (e Error) Offsets(days, n int) [][]float64 {
	out := make([][]float64, n)
	for i := range out {
		out[i] = make([]float64, days)
	}
	variance, with, before := 0.0, 0.0, 0.0
	for d := range days {
		sd, bias := e.SD(d), 0.0
		if d < len(e.Bias) {
			bias = e.Bias[d]
		}
		// with is the covariance of the day's error with the sum of those before.
		with *= ErrorCarry
		variance += sd*sd + 2*with*sd
		with += sd
		total := math.Sqrt(variance)
		for i := range out {
			z := distuv.UnitNormal.Quantile((float64(i) + 0.5) / float64(n))
			out[i][d] = z*(total-before) - bias
		}
		before = total
	}
	return out
}

// Versions makes equally likely versions of a forecast. The hours before now, of
// measured weather, stay; to those from now on each version adds its offset of
// temperature and as much to the dew point, so that humidity stays as forecast.
// Rain and humidity are not varied: chances of wet hours come out too sure, and
// an ensemble, where there is one, is better.
func Versions(w *weather.Series, now time.Time, e Error, n int) []*weather.Series {
	from := max(0, w.Index(now))
	offsets := e.Offsets((w.Len()-from)/24+1, n)
	out := make([]*weather.Series, n)
	for i := range out {
		s := w.Slice(0, w.Len())
		for _, v := range []weather.Var{weather.Temp, weather.DewPoint} {
			for h := from; h < s.Len(); h++ {
				o, ok := w.OriginAt(v, h)
				if !ok {
					continue
				}
				// The origin is one of the copy's own.
				handle, err := s.AddOrigin(o)
				if err != nil {
					panic("outlook: " + err.Error())
				}
				s.Set(v, h, w.Value(v, h)+offsets[i][(h-from)/24], handle)
			}
		}
		out[i] = s
	}
	return out
}

// VersionsOfDays is Versions for daily records, of which those from today on are
// forecast.
func VersionsOfDays(days []weather.Day, today civil.Date, e Error, n int) [][]weather.Day {
	out := make([][]weather.Day, n)
	if len(days) == 0 {
		return out
	}
	from := min(max(0, today.Sub(days[0].Date)), len(days))
	offsets := e.Offsets(len(days)-from, n)
	for i := range out {
		out[i] = append([]weather.Day(nil), days...)
		for d := from; d < len(days); d++ {
			out[i][d].Min += offsets[i][d-from]
			out[i][d].Max += offsets[i][d-from]
		}
	}
	return out
}
