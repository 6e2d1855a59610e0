package outlook

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"plotwarden/weather"
)

// Draw makes a forecast of what came: a copy of a series whose hours from an index
// on have errors of temperature, humidity and rain, as large as e says, drawn with
// noise, a source of standard normal numbers. Without noise the forecast is
// perfect.
//
// A good forecast lies nearer to what is usual than what comes: the less it knows,
// the nearer, until at the end of its days it says the usual. Where that is known,
// errors are therefore added to what came drawn in toward it, so that what came
// lies about the forecast and not the forecast about what came. Errors merely
// added make a forecast of two weeks vary more than weather does.
func (e Error) Draw(w *weather.Series, from int, u Usual, noise func() float64) *weather.Series {
	s := w.Slice(0, w.Len())
	from = max(0, from)
	if noise == nil || from >= s.Len() {
		return s
	}
	n := (s.Len() - from + 23) / 24
	temp := offsets(DailyMeans(w, weather.Temp, from), n, u.Temp, e.SD, noise)
	for h := from; h < s.Len(); h++ {
		for _, v := range []weather.Var{weather.Temp, weather.DewPoint} {
			reset(s, v, h, w.Value(v, h)+temp[(h-from)/24])
		}
	}
	if len(e.RH) == 0 || len(e.Wet) == 0 {
		return s
	}
	humid := offsets(DailyMeans(w, weather.RH, from), n, u.RH, e.sdRH, noise)
	blocks := make([]float64, (s.Len()-from)/rainBlock+1)
	for i := range blocks {
		blocks[i] = distuv.UnitNormal.CDF(noise())
	}
	e.apply(s, from, changes{
		RH:   func(lead int) float64 { return humid[lead] },
		Rain: func(_, block int) float64 { return blocks[block] },
	})
	return s
}

// DrawDays is Draw for daily records.
func (e Error) DrawDays(days []weather.Day, from int, u Usual, noise func() float64) []weather.Day {
	out := slices.Clone(days)
	if noise == nil || from >= len(out) {
		return out
	}
	means := make([]float64, 0, len(out)-from)
	for _, d := range out[from:] {
		means = append(means, (d.Min+d.Max)/2)
	}
	temp := offsets(means, len(means), u.Temp, e.SD, noise)
	rain := make([]float64, len(out)-from)
	for i := range rain {
		rain[i] = distuv.UnitNormal.CDF(noise())
		out[from+i].Min += temp[i]
		out[from+i].Max += temp[i]
	}
	e.applyDays(out, from, changes{Rain: func(_, d int) float64 { return rain[d] }})
	return out
}

// Usual is what is usual at a place on the days of a forecast, by days of lead:
// daily means of other years. A shorter list, or an empty one, is not known
// beyond.
type Usual struct{ Temp, RH []Spread }

// Spread is the mean and the standard deviation of one day over the years.
type Spread struct{ Mean, SD float64 }

// DailyMeans are those of each 24 hours from an index on; NaN where nothing is
// known.
func DailyMeans(w *weather.Series, v weather.Var, from int) []float64 {
	var out []float64
	for at := from; at < w.Len(); at += 24 {
		sum, n := 0.0, 0.0
		for h := at; h < min(at+24, w.Len()); h++ {
			if x := w.Value(v, h); !math.IsNaN(x) {
				sum, n = sum+x, n+1
			}
		}
		out = append(out, sum/n)
	}
	return out
}

// offsets returns what a drawn forecast of n days is off by, from the means of
// what came.
func offsets(means []float64, n int, usual []Spread, sd func(lead int) float64, noise func() float64) []float64 {
	out, steps := make([]float64, n), walk(n, noise)
	for i := range out {
		if i >= len(usual) || !(usual[i].SD > 0) || math.IsNaN(means[i]) {
			out[i] = steps[i] * sd(i)
			continue
		}
		share := sd(i) / usual[i].SD
		kept := max(0, 1-share*share) // of what is unusual
		out[i] = (kept-1)*(means[i]-usual[i].Mean) + math.Sqrt(kept)*steps[i]*sd(i)
	}
	return out
}

// walk draws standard normal errors of some days, each like the day before by
// ErrorCarry.
func walk(n int, noise func() float64) []float64 {
	out, x := make([]float64, n), 0.0
	for i := range out {
		keep := ErrorCarry
		if i == 0 {
			keep = 0
		}
		x = keep*x + math.Sqrt(1-keep*keep)*noise()
		out[i] = x
	}
	return out
}
