package outlook

import (
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"plotwarden/civil"
	"plotwarden/weather"
)

// Error is how far a forecast lies off, by whole days of lead: the first for the
// day that begins with the issue. It comes from StatedError, MeasuredError or
// MeasuredForecast.
type Error struct {
	MAE      []float64 // mean absolute error of temperature, C
	Bias     []float64 // mean of forecast less measured, C; may be shorter, 0 beyond
	Measured bool      // at least the first lead of temperature was measured at this place

	RH         []float64 // mean absolute error of humidity, per cent; empty: it is not varied
	MeasuredRH bool
	// Wet and Dry are the chances that it rains in an hour of which the forecast
	// says so, and of which it says not. Empty: rain is not varied.
	Wet, Dry     []float64
	MeasuredRain int // for so many days, from the first, they were measured at this place
}

// ErrorCarry is the correlation of a forecast's errors from one day to the next:
// a forecast that is too warm on one day is likely so on the next (from memory).
const ErrorCarry = 0.7

// statedTemp is 1.2 C on the first day, growing to the error of the place's
// normal, 3.6 C, after two weeks (from memory).
var statedTemp = []float64{1.2, 1.4, 1.6, 1.9, 2.1, 2.4, 2.7, 2.9, 3.1, 3.2, 3.3, 3.4, 3.5, 3.5, 3.6, 3.6}

// StatedError is the error where none was measured (from memory): of temperature
// 1.2 C on the first day, growing to that of the place's normal, 3.6 C, after two
// weeks; of humidity 7 %, growing to 14 %; rain caught two hours in three, and at
// the end hardly oftener than by chance.
func StatedError() Error {
	return Error{MAE: slices.Clone(statedTemp), RH: slices.Clone(statedRH), Wet: slices.Clone(statedWet), Dry: slices.Clone(statedRain)}
}

// MeasuredError takes, for each lead with at least least hours compared, the
// measured error of temperature, and for the others the stated one, raised or
// lowered by as much as the measured leads are on average. Humidity and rain are
// as stated. It is for the ByLead of weather.EstimateBias of temperature.
func MeasuredError(byLead []weather.Error, least int) Error {
	e := StatedError()
	temp, known := measured(statedTemp, byLead, least)
	if !known {
		return e
	}
	e.MAE, e.Bias = temp, make([]float64, len(temp))
	for i := range temp {
		if i < len(byLead) && byLead[i].N >= max(1, least) {
			e.Bias[i] = byLead[i].Bias
			e.Measured = e.Measured || i == 0
		}
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
// temperature and one of humidity, and keeps, loses or gains spells of rain by
// their chance; the dew point follows. Chances of wet hours so come out as unsure
// as the forecast is. An ensemble, where there is one, knows more of how rain,
// humidity and warmth go together: see EnsembleVersions.
func Versions(w *weather.Series, now time.Time, e Error, n int) []*weather.Series {
	from := max(0, w.Index(now))
	offsets := e.Offsets((w.Len()-from)/24+1, n)
	out := make([]*weather.Series, n)
	for i := range out {
		s := w.Slice(0, w.Len())
		for h := from; h < s.Len(); h++ {
			for _, v := range []weather.Var{weather.Temp, weather.DewPoint} {
				reset(s, v, h, w.Value(v, h)+offsets[i][(h-from)/24])
			}
		}
		if n > 1 {
			e.apply(s, from, e.version(i, n))
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
		if n > 1 {
			e.applyDays(out[i], from, e.version(i, n))
		}
	}
	return out
}
