package outlook

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/risk/catalog"
	"plotwarden/risk/model"
	"plotwarden/weather"
)

func TestOffsetsGiveTheSumItsSpread(t *testing.T) {
	e := Error{MAE: []float64{1, 2}, Bias: []float64{0.5}}
	const n = 999
	offs := e.Offsets(3, n)
	sd := math.Sqrt(math.Pi / 2)
	// Var(e1 + e2 + e3) with sd, 2sd, 2sd and correlations 0.7, 0.7, 0.49.
	want := sd * math.Sqrt(1+4+4+2*(0.7*2+0.7*4+0.49*2))
	sum, square := 0.0, 0.0
	for _, o := range offs {
		s := o[0] + o[1] + o[2]
		sum += s
		square += s * s
	}
	mean := sum / n
	assert.InDelta(t, -0.5, mean, 1e-9, "the bias is taken off")
	assert.InDelta(t, want, math.Sqrt(square/n-mean*mean), 0.02*want)
}

func TestMeasuredErrorFillsFromTheStated(t *testing.T) {
	stated := StatedError()
	assert.False(t, MeasuredError(nil, 24).Measured)
	assert.Equal(t, stated, MeasuredError(nil, 24))
	m := MeasuredError(byLead(48, 0.6, 0.3), 24)
	assert.True(t, m.Measured)
	assert.Equal(t, 0.6, m.MAE[0])
	assert.InDelta(t, 0.5*stated.MAE[5], m.MAE[5], 1e-9, "half of the stated on the first day, half on the others")
	assert.Equal(t, stated, MeasuredError(byLead(10, 0.6, 0.3), 24), "too few hours")
}

func byLead(n int, mae, bias float64) []weather.Error {
	return []weather.Error{{N: n, MAE: mae, Bias: bias}}
}

// spring is hours from 1 January 2026 UTC on, ten days of them forecast.
func spring(t *testing.T, days int) (*weather.Series, time.Time) {
	t.Helper()
	start := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	w := weather.NewSeries(start, 24*days)
	now := start.Add(time.Duration(days-10) * 24 * time.Hour)
	seen, err := w.AddOrigin(weather.Origin{Source: "station", Kind: weather.Station})
	require.NoError(t, err)
	fore, err := w.AddOrigin(weather.Origin{Source: "service", Kind: weather.Forecast, Issued: now})
	require.NoError(t, err)
	for i := range w.Len() {
		o := seen
		if !w.Time(i).Before(now) {
			o = fore
		}
		x := float64(i)/24/6 + 5*math.Sin(float64(i%24-9)/12*math.Pi)
		w.Set(weather.Temp, i, x, o)
		w.Set(weather.RH, i, 80, o)
	}
	return w, now
}

func TestVersionsLeaveMeasuredHoursAlone(t *testing.T) {
	w, now := spring(t, 120)
	vs := Versions(w, now, StatedError(), 5)
	require.Len(t, vs, 5)
	at := w.Index(now)
	for _, v := range vs {
		assert.Equal(t, w.Value(weather.Temp, at-1), v.Value(weather.Temp, at-1))
		assert.Equal(t, w.Value(weather.RH, at+30), v.Value(weather.RH, at+30))
		o, ok := v.OriginAt(weather.Temp, at+5)
		assert.True(t, ok)
		assert.Equal(t, weather.Forecast, o.Kind)
	}
	assert.Less(t, vs[0].Value(weather.Temp, at+200), w.Value(weather.Temp, at+200)-2)
	assert.Equal(t, w.Value(weather.Temp, at+200), vs[2].Value(weather.Temp, at+200), "the middle version is the forecast")
	assert.Greater(t, vs[4].Value(weather.Temp, at+200), w.Value(weather.Temp, at+200)+2)
}

// The versions run on the last sixty days give the fan that versions of the
// whole season give.
func TestRunsOfVersionsAgreeWithWholeSeasons(t *testing.T) {
	w, now := spring(t, 150)
	cat, err := catalog.Load()
	require.NoError(t, err)
	m, ok := cat.Model("imported-cabbageworm/delahaut-2015")
	require.True(t, ok)
	in := model.Input{Weather: w, Zone: time.UTC, Start: civil.New(2026, 1, 1), Now: now}
	tr, err := m.Spec.Run(&in)
	require.NoError(t, err)
	vs := Versions(w, now, StatedError(), 5)
	runs, err := NewForecasts(vs, time.UTC, now).Runs(m.Spec, in)
	require.NoError(t, err)
	require.Len(t, runs, 5)
	f := NewFan(tr, runs, nil)
	for i, v := range vs {
		whole, err := m.Spec.Run(&model.Input{Weather: v, Zone: time.UTC, Start: in.Start, Now: now})
		require.NoError(t, err)
		assert.InDelta(t, whole.Points[len(whole.Points)-1].Total, f.runs[len(vs)-1-i].end, 1e-9)
	}
	late, err := NewForecasts(vs, time.UTC, now).Runs(m.Spec, model.Input{Zone: time.UTC, Start: civil.New(2026, 7, 1), Now: now})
	require.NoError(t, err)
	assert.Empty(t, late)
}
