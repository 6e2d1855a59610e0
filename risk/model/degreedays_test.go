package model

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/risk"
	"plotwarden/weather"
)

const fromJanuary = "start: {kind: calendar, day: 01-01, standing: confirmed}"

// daysOf makes daily records of minima and maxima in C.
func daysOf(first civil.Date, extremes ...[2]float64) []weather.Day {
	var out []weather.Day
	for i, x := range extremes {
		out = append(out, weather.Day{Date: first.AddDays(i), Min: x[0], Max: x[1], Rain: 0, Soil: nan, Hours: 24, Kind: weather.Station})
	}
	return out
}

func f(x float64) float64 { return (x - 32) / 1.8 }

// The nine-day class problem read in a teaching text: base 38 F, simple average,
// daily values 6 to 35, from 100 to 319. Its minima and maxima are not printed;
// any with these means give its numbers.
func TestPublishedNineDays(t *testing.T) {
	daily := []float64{6, 15.5, 20, 25, 28, 27.5, 29.5, 32.5, 35}
	var in [][2]float64
	for _, d := range daily {
		in = append(in, [2]float64{f(38 + d - 9), f(38 + d + 9)})
	}
	p := decode(t, "degree-days", "{method: average, lower: 38, unit: F, "+fromJanuary+", stages: [{name: at 100, value: 100}, {name: at 219, value: 219}]}")
	tr, err := p.Run(&Input{Days: daysOf(firstDay, in...), Start: firstDay})
	require.NoError(t, err)
	for i, d := range daily {
		assert.InDelta(t, d, tr.Points[i].Value, 1e-9)
	}
	assert.InDelta(t, 319.0-100, tr.Points[8].Total, 1e-9)
	assert.Equal(t, []string{"06-06 crossing at 100", "06-09 crossing at 219"}, events(tr), "a sum that is 218.99999999999997 is 219")
	assert.Equal(t, "degree-days F", tr.Unit)
}

// A total in F is 1.8 times that in C: degree-days are differences, without 32.
func TestUnitsConvertAsDifferences(t *testing.T) {
	weather := &Input{Weather: sky(t, firstDay, time.UTC, join(times(12, hour{10, 50, 0}), times(12, hour{24, 50, 0}))), Start: firstDay}
	for _, method := range []string{"single-sine", "double-triangle", "hourly", "average-clip-each"} {
		a, err := decode(t, "degree-days", "{method: "+method+", lower: 50, upper: 86, cutoff: horizontal, unit: F, "+fromJanuary+"}").Run(weather)
		require.NoError(t, err)
		b, err := decode(t, "degree-days", "{method: "+method+", lower: 10, upper: 30, cutoff: horizontal, unit: C, "+fromJanuary+"}").Run(weather)
		require.NoError(t, err)
		assert.InDelta(t, 1.8*b.Points[0].Total, a.Points[0].Total, 1e-9, method)
		assert.Positive(t, a.Points[0].Total)
	}
}

func TestStartExclusive(t *testing.T) {
	days := daysOf(firstDay, [2]float64{10, 20}, [2]float64{10, 22}, [2]float64{10, 24})
	for text, want := range map[string][]float64{
		"":                  {5, 6, 7},
		", exclusive: true": {6, 7},
	} {
		p := decode(t, "degree-days", "{method: average, lower: 10, unit: C, start: {kind: catch, event: first moth, standing: confirmed"+text+"}}")
		tr, err := p.Run(&Input{Days: days, Start: firstDay})
		require.NoError(t, err)
		assert.Equal(t, want, values(tr), text)
		assert.Equal(t, 3-len(want), tr.Start.Sub(firstDay))
		assert.Equal(t, tr.Start, tr.Points[0].Date)
	}
}

// Soil models take only soil temperature; without it every hour is unknown.
func TestSoilNeverRunsOnAir(t *testing.T) {
	soil := decode(t, "degree-days", "{method: average, lower: 5, unit: C, input: soil, "+fromJanuary+"}")
	assert.Equal(t, []weather.Var{weather.Soil}, soil.Needs())
	s := sky(t, firstDay, time.UTC, times(48, hour{25, 50, 0}))
	tr, err := soil.Run(&Input{Weather: s, Start: firstDay})
	require.NoError(t, err)
	assert.Equal(t, []float64{0, 0}, totals(tr))
	assert.Equal(t, 48, tr.Points[1].UnknownHours)
	assert.Greater(t, tr.Points[1].High, 0.0)

	o, err := s.AddOrigin(weather.Origin{Source: "soil", Kind: weather.Station})
	require.NoError(t, err)
	for i := range s.Len() {
		s.Set(weather.Soil, i, 12, o)
	}
	tr, err = soil.Run(&Input{Weather: s, Start: firstDay})
	require.NoError(t, err)
	assert.Equal(t, []float64{7, 14}, totals(tr))

	days := daysOf(firstDay, [2]float64{10, 20}, [2]float64{10, 20})
	days[1].Soil = 9
	tr, err = soil.Run(&Input{Days: days, Start: firstDay})
	require.NoError(t, err)
	assert.Equal(t, []float64{0, 4}, totals(tr))
	assert.Equal(t, 24, tr.Points[1].UnknownHours)
}

// A missing day adds 0, and the bounds say how much it may have added: with an
// upper threshold U - L.
func TestMissingDaysAreIncomplete(t *testing.T) {
	p := decode(t, "degree-days", "{method: single-sine, cutoff: horizontal, lower: 50, upper: 86, unit: F, "+fromJanuary+"}")
	days := daysOf(firstDay, [2]float64{f(60), f(80)}, [2]float64{nan, nan}, [2]float64{f(60), f(80)})
	tr, err := p.Run(&Input{Days: days, Start: firstDay})
	require.NoError(t, err)
	last := tr.Points[2]
	assert.InDelta(t, 40, last.Total, 1e-9)
	assert.InDelta(t, 40, last.Low, 1e-9)
	assert.InDelta(t, 76, last.High, 1e-9)
	assert.Equal(t, 24, last.UnknownHours)
	assert.False(t, tr.Complete())

	// 20 known hours make a day, 19 do not.
	for known, want := range map[int]int{20: 0, 19: 5} {
		tr := track(t, p, join(times(known, hour{20, 50, 0}), times(24-known, unknown)))
		assert.Equal(t, want, tr.Points[0].UnknownHours, "%d known hours", known)
	}
}

// Days before the weather begins are unknown, not without heat.
func TestStartBeforeTheWeather(t *testing.T) {
	p := decode(t, "degree-days", "{method: average, lower: 10, unit: C, "+fromJanuary+"}")
	tr, err := p.Run(&Input{Days: daysOf(firstDay, [2]float64{10, 20}), Start: firstDay.AddDays(-2)})
	require.NoError(t, err)
	assert.Equal(t, []float64{0, 0, 5}, totals(tr))
	assert.Equal(t, 48, tr.Points[2].UnknownHours)
	assert.Equal(t, firstDay.AddDays(-2), tr.Points[0].Date)
	tr, err = p.Run(&Input{Days: daysOf(firstDay, [2]float64{10, 20}), Start: firstDay.AddDays(5)})
	require.NoError(t, err)
	assert.Empty(t, tr.Points, "the weather ends before the start")
}

// The last day of a double method waits for the next minimum.
func TestDoubleMethodIsProvisional(t *testing.T) {
	p := decode(t, "degree-days", "{method: double-sine, lower: 10, unit: C, "+fromJanuary+"}")
	days := daysOf(firstDay, [2]float64{12, 20}, [2]float64{4, 20})
	one, err := p.Run(&Input{Days: days[:1], Start: firstDay})
	require.NoError(t, err)
	assert.True(t, one.Points[0].Provisional)
	assert.Equal(t, 6.0, one.Points[0].Total)
	two, err := p.Run(&Input{Days: days, Start: firstDay})
	require.NoError(t, err)
	assert.False(t, two.Points[0].Provisional)
	assert.True(t, two.Points[1].Provisional)
	assert.Less(t, two.Points[0].Total, 6.0, "the colder next morning")
}

func TestForecastFlags(t *testing.T) {
	p := decode(t, "degree-days", "{method: average, lower: 10, unit: C, "+fromJanuary+", stages: [{name: a, value: 9}, {name: b, value: 31}]}")
	s := sky(t, firstDay, time.UTC, times(24*4, hour{20, 50, 0}))
	ahead, err := s.AddOrigin(weather.Origin{Source: "f", Kind: weather.Forecast})
	require.NoError(t, err)
	s.Set(weather.Temp, 24*3+5, 20, ahead)
	flags := func(now time.Time) (out []bool) {
		tr, err := p.Run(&Input{Weather: s, Start: firstDay, Now: now})
		require.NoError(t, err)
		for _, pt := range tr.Points {
			out = append(out, pt.Forecast)
		}
		assert.Equal(t, []bool{out[0], out[3]}, []bool{tr.Events[0].Forecast, tr.Events[1].Forecast})
		return out
	}
	assert.Equal(t, []bool{false, false, false, true}, flags(time.Time{}), "by origin")
	assert.Equal(t, []bool{false, true, true, true}, flags(s.Time(40)), "from now on")
	assert.Equal(t, []bool{false, false, false, true}, flags(s.Time(72)))
	// Humidity that is forecast does not make a temperature sum a forecast.
	s.Set(weather.RH, 0, 50, ahead)
	assert.Equal(t, []bool{false, false, false, true}, flags(time.Time{}))

	days := daysOf(firstDay, [2]float64{10, 20}, [2]float64{10, 20})
	days[1].Kind = weather.Forecast
	tr, err := p.Run(&Input{Days: days, Start: firstDay})
	require.NoError(t, err)
	assert.Equal(t, []bool{false, true}, []bool{tr.Points[0].Forecast, tr.Points[1].Forecast})
}

// A day that the series ends in counts what it has and will change; its hours to
// come are not unknown.
func TestDayNotOver(t *testing.T) {
	p := decode(t, "severity-table", tomatoTable)
	tr := track(t, p, times(24+10, humidAt(22)))
	assert.Equal(t, []float64{4, 2}, values(tr))
	assert.True(t, tr.Points[1].Provisional)
	assert.True(t, tr.Complete())
	dd := track(t, decode(t, "degree-days", "{method: average, lower: 10, unit: C, "+fromJanuary+"}"), times(24+10, humidAt(22)))
	assert.Equal(t, []float64{12, 0}, values(dd), "extremes of 10 hours are none")
	assert.True(t, dd.Points[1].Provisional)
	assert.True(t, dd.Complete())
}

// A threshold of 0 is reached on the first day: eggs are laid when moths are caught.
func TestThresholdOfZero(t *testing.T) {
	p := decode(t, "degree-days", "{method: average, lower: 10, unit: C, "+fromJanuary+", stages: [{name: eggs, value: 0}, {name: hatch, value: 6}]}")
	tr, err := p.Run(&Input{Days: daysOf(firstDay, [2]float64{0, 5}, [2]float64{10, 20}, [2]float64{10, 20}), Start: firstDay})
	require.NoError(t, err)
	assert.Equal(t, []string{"06-01 crossing eggs", "06-03 crossing hatch"}, events(tr))
}

func TestInputThatCannotBelong(t *testing.T) {
	dd := decode(t, "degree-days", "{method: average, lower: 10, unit: C, "+fromJanuary+"}")
	hourly := decode(t, "degree-days", "{method: hourly, lower: 10, unit: C, "+fromJanuary+"}")
	days := daysOf(firstDay, [2]float64{10, 20}, [2]float64{10, 20})
	bad := daysOf(firstDay, [2]float64{10, 20}, [2]float64{20, 10})
	gap := append(daysOf(firstDay, [2]float64{10, 20}), daysOf(firstDay+2, [2]float64{10, 20})...)
	for _, c := range []struct {
		p    program
		in   *Input
		want string
	}{
		{dd, &Input{Days: days}, "no start date"},
		{hourly, &Input{Days: days, Start: firstDay}, "needs hours"},
		{decode(t, "severity-table", tomatoTable), &Input{Days: days, Start: firstDay}, "needs hours"},
		{dd, &Input{Days: bad, Start: firstDay}, "2026-06-02: minimum 20 above maximum 10"},
		{dd, &Input{Days: gap, Start: firstDay}, "jump from 2026-06-01 to 2026-06-03"},
		{dd, &Input{Days: days, Start: firstDay - 4000}, "before the weather"},
	} {
		_, err := c.p.Run(c.in)
		assert.ErrorContains(t, err, c.want)
	}
	tr, err := dd.Run(&Input{Start: firstDay})
	require.NoError(t, err)
	assert.Empty(t, tr.Points, "no weather at all is no error")
	tr, err = decode(t, "severity-table", tomatoTable).Run(&Input{Weather: weather.NewSeries(firstDay.Start(time.UTC), 0), Start: firstDay})
	require.NoError(t, err)
	assert.Empty(t, tr.Points)
	assert.Equal(t, risk.Track{Unit: "severity values", Start: firstDay, Points: tr.Points, Events: tr.Events}, *tr)
}

// The share of ascospores that are mature: probit 2.51 + 0.01 degree-days C
// (Gadoury & MacHardy 1982, from memory), 50 % at 249. Probits were given 5
// higher then, so that the intercept here is -2.49.
func TestDistribution(t *testing.T) {
	p := decode(t, "degree-days", "{method: average, lower: 0, unit: C, "+fromJanuary+", distribution: {name: ascospores mature, link: probit, intercept: -2.49, slope: 0.01}}").(*DegreeDays)
	assert.InDelta(t, 0.5, p.Share.At(249), 1e-12)
	assert.InDelta(t, 0.8413447, p.Share.At(349), 1e-6) // one standard deviation
	assert.InDelta(t, 0.1586553, p.Share.At(149), 1e-6)
	logit := Distribution{Link: Logit, Intercept: -1, Slope: 0.5}
	assert.InDelta(t, 0.5, logit.At(2), 1e-12)
	assert.InDelta(t, 0.7310586, logit.At(4), 1e-6)
}
