package outlook

import (
	"math"
	"math/rand/v2"
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
		assert.Equal(t, w.Value(weather.RH, at-1), v.Value(weather.RH, at-1))
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

// Humidity and rain vary as much as the forecast is unsure of them, warm versions
// are as often moist as dry, and it rains as often as it should.
func TestVersionsVaryHumidityAndRain(t *testing.T) {
	w, now := spring(t, 120)
	at := w.Index(now)
	fore, ok := w.OriginAt(weather.Temp, at+1)
	require.True(t, ok)
	handle, err := w.AddOrigin(fore)
	require.NoError(t, err)
	for h := at; h < w.Len(); h++ {
		rain := 0.0
		if h%48 < 12 {
			rain = 1.5
		}
		w.Set(weather.Rain, h, rain, handle)
		w.Set(weather.RH, h, 50, handle)
	}
	const n = 15
	e := StatedError()
	w = weather.Derive(w)
	vs := Versions(w, now, e, n)
	for day := range 10 {
		var wet, hours, dryWet, dry, square, together float64
		for _, v := range vs {
			for h := at + 24*day; h < at+24*day+24; h++ {
				rain := v.Value(weather.Rain, h) > 0
				if w.Value(weather.Rain, h) > 0 {
					hours++
					if rain {
						wet++
						assert.GreaterOrEqual(t, v.Value(weather.RH, h), 90.0)
					}
					continue
				}
				dry++
				if rain {
					dryWet++
					continue
				}
				off := v.Value(weather.RH, h) - 50
				square += off * off
				together += off * (v.Value(weather.Temp, h) - w.Value(weather.Temp, h))
				assert.InDelta(t, weather.RelHumidity(v.Value(weather.Temp, h), v.Value(weather.DewPoint, h)), v.Value(weather.RH, h), 0.1)
			}
		}
		if hours > 0 {
			assert.InDelta(t, e.Wet[day], wet/hours, 0.07, "day %d", day)
		}
		assert.InDelta(t, e.Dry[day], dryWet/dry, 0.05, "day %d", day)
		sd := math.Sqrt(square / (dry - dryWet))
		assert.InDelta(t, e.sdRH(day), sd, 0.15*sd, "day %d", day)
		assert.InDelta(t, 0, together/(dry-dryWet)/sd/e.SD(day), 0.35, "day %d", day)
	}

	// A forecast that says nothing of rain stays so; without errors nothing varies.
	w, now = spring(t, 120)
	for _, v := range Versions(w, now, Error{MAE: []float64{1}}, 3) {
		assert.Equal(t, w.Column(weather.RH), v.Column(weather.RH))
		assert.Nil(t, v.Column(weather.Rain))
	}
}

// Measured errors take the stated ones' place, a chance that the forecast gives
// that of stated hits.
func TestMeasuredForecastOfHumidityAndRain(t *testing.T) {
	f := weather.ForecastError{RH: byLead(200, 3.5, 0), Rain: []weather.RainCount{{Hits: 30, Misses: 10, FalseAlarms: 20, DryRight: 340}}}
	e := MeasuredForecast(f, 24)
	assert.True(t, e.MeasuredRH)
	assert.Equal(t, 3.5, e.RH[0])
	assert.InDelta(t, statedRH[5]/2, e.RH[5], 1e-9)
	assert.Equal(t, 1, e.MeasuredRain)
	assert.InDelta(t, 0.6, e.Wet[0], 1e-9)
	assert.InDelta(t, 10.0/350, e.Dry[0], 1e-9)
	assert.Equal(t, statedWet[1], e.Wet[1])
	assert.InDelta(t, 0.6, e.Chance(0, true, 10), 1e-9, "what was measured here goes first")
	assert.InDelta(t, 0.1, e.Chance(1, true, 10), 1e-9)
	assert.InDelta(t, statedWet[1], e.Chance(1, true, math.NaN()), 1e-9)
	few := MeasuredForecast(weather.ForecastError{Rain: []weather.RainCount{{Hits: 3, Misses: 1, FalseAlarms: 2, DryRight: 340}}}, 24)
	assert.Zero(t, few.MeasuredRain)
	assert.Equal(t, StatedError(), few)
}

// A drawn forecast lies off by as much as it should, and what came lies about it:
// at the end of its days it says the usual.
func TestDrawnForecasts(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	e := StatedError()
	var off, square, usualSquare [15]float64
	const draws = 4000
	for range draws {
		days := make([]weather.Day, 15)
		u := Usual{}
		x := r.NormFloat64() * 4.5
		for i := range days {
			days[i] = weather.NewDay(civil.New(2026, 5, 1).AddDays(i))
			x = 0.7*x + math.Sqrt(1-0.49)*4.5*r.NormFloat64()
			days[i].Min, days[i].Max = 10+x, 20+x
			u.Temp = append(u.Temp, Spread{15, 4.5})
		}
		got := e.DrawDays(days, 0, u, r.NormFloat64)
		for i := range got {
			d := got[i].Min - days[i].Min
			off[i] += d / draws
			square[i] += d * d / draws
			usualSquare[i] += (got[i].Min - 10) * (got[i].Min - 10) / draws
		}
	}
	for i := range off {
		assert.InDelta(t, 0, off[i], 0.25, "day %d", i)
		assert.InDelta(t, min(e.SD(i), 4.5), math.Sqrt(square[i]), 0.15, "day %d", i)
	}
	assert.Greater(t, math.Sqrt(usualSquare[0]), 4.0)
	assert.Less(t, math.Sqrt(usualSquare[14]), 0.6, "after two weeks it says the usual")
}
