package weather

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Source: Finley's tornado forecasts of 1884, the worked example of the WWRP/WGNE
// pages on forecast verification (from memory): 28 hits, 23 misses, 72 false
// alarms, 2680 right negatives; detection 0.549, false alarm ratio 0.720.
func TestRainCountIsTheContingencyTable(t *testing.T) {
	var r RainCount
	for _, c := range []struct {
		forecast, fell bool
		n              int
	}{{true, true, 28}, {false, true, 23}, {true, false, 72}, {false, false, 2680}} {
		for range c.n {
			r.add(c.forecast, c.fell)
		}
	}
	assert.Equal(t, RainCount{Hits: 28, Misses: 23, FalseAlarms: 72, DryRight: 2680}, r)
	assert.Equal(t, 2803, r.Hours())
	assert.InDelta(t, 0.549, r.Caught(), 5e-4)
	assert.InDelta(t, 0.720, r.False(), 5e-4)
	assert.True(t, math.IsNaN(RainCount{DryRight: 3}.Caught()))
	assert.True(t, math.IsNaN(RainCount{DryRight: 3}.False()))
}

func constantly(n int, x float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = x
	}
	return out
}

func TestForecastErrorsByLead(t *testing.T) {
	observed := with(series(ownStation, Temp, constantly(72, 20)...), ownStation, RH, constantly(72, 60)...)
	observed = with(observed, ownStation, Rain, constantly(72, 0)...)
	f := series(forecastAt(0), Temp, append(constantly(24, 21), constantly(48, 17)...)...)
	f = with(f, forecastAt(0), RH, append(constantly(24, 70), constantly(24, 55)...)...)
	wet := constantly(48, 0.1) // a trace is no rain
	wet[3], wet[30] = 2, 0.2
	f = with(f, forecastAt(0), Rain, wet...)
	e := ForecastErrors(observed, nil, []Issue{{start2026, f}})
	require.Len(t, e.Temp, 3)
	assert.Equal(t, []Error{{N: 24, Bias: 1, MAE: 1}, {N: 24, Bias: -3, MAE: 3}, {N: 24, Bias: -3, MAE: 3}}, e.Temp)
	assert.Equal(t, Error{N: 24, Bias: 10, MAE: 10}, e.RH[0])
	assert.Equal(t, Error{N: 24, Bias: -5, MAE: 5}, e.RH[1])
	assert.Zero(t, e.RH[2].N)
	assert.True(t, math.IsNaN(e.RH[2].MAE), "nothing compared is not 0")
	assert.Equal(t, []RainCount{{FalseAlarms: 1, DryRight: 23}, {FalseAlarms: 1, DryRight: 23}, {}}, e.Rain)

	// Issued ten minutes into the second hour: neither it nor the first counts,
	// and the first day ends that much later.
	e = ForecastErrors(observed, nil, []Issue{{start2026.Add(70 * time.Minute), f}})
	assert.Equal(t, 24, e.Temp[0].N)
	assert.InDelta(t, (22*1+2*3)/24.0, e.Temp[0].MAE, 1e-12)
	assert.Equal(t, 46, e.Temp[1].N+e.Temp[2].N)
}

func TestForecastErrorsCompareOnlyWithWhatWasObserved(t *testing.T) {
	f := series(forecastAt(0), Temp, 21, 21, 21, 21)
	for name, c := range map[string]struct {
		observed *Series
		trusted  func(Origin) bool
		n        int
	}{
		"a station":          {series(ownStation, Temp, 20, missing, 20, 20), nil, 3},
		"an analysis":        {series(grid, Temp, 20, 20, 20, 20), nil, 4},
		"not trusted":        {series(grid, Temp, 20, 20, 20, 20), func(o Origin) bool { return o.Kind == Station }, 0},
		"another forecast":   {series(forecastAt(0), Temp, 20, 20, 20, 20), nil, 0},
		"made of daily data": {series(modelled, Temp, 20, 20, 20, 20), nil, 0},
		"nothing":            {NewSeries(start2026, 0), nil, 0},
	} {
		e := ForecastErrors(c.observed, c.trusted, []Issue{{start2026, f}})
		if c.n == 0 {
			assert.Empty(t, e.Temp, name)
			continue
		}
		assert.Equal(t, []Error{{N: c.n, Bias: 1, MAE: 1}}, e.Temp, name)
	}
	// A forecast that holds a measured hour does not count it as forecast.
	assert.Empty(t, ForecastErrors(series(ownStation, Temp, 20), nil, []Issue{{start2026, series(Origin{Source: "airport", Kind: Nearby}, Temp, 20)}}).Temp)
}

// Every hour compared counts once, and the mean absolute error is at least the
// size of the bias.
func TestForecastErrorsCountEachHourOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 24*20).Draw(t, "hours")
		value := rapid.Float64Range(-30, 40)
		a, b := make([]float64, n), make([]float64, n)
		for i := range n {
			a[i], b[i] = value.Draw(t, "measured"), value.Draw(t, "forecast")
		}
		e := ForecastErrors(series(ownStation, Temp, a...), nil, []Issue{{start2026, series(forecastAt(0), Temp, b...)}})
		total := 0
		for _, x := range e.Temp {
			total += x.N
			if x.N > 0 && x.MAE < math.Abs(x.Bias)-1e-9 {
				t.Fatalf("error %g below bias %g", x.MAE, x.Bias)
			}
		}
		if want := min(n, 24*maxLeadDays); total != want {
			t.Fatalf("%d hours compared, want %d", total, want)
		}
	})
}
