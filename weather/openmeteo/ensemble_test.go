package openmeteo

import (
	"context"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/weather"
	"plotwarden/weather/source"
)

func TestEnsembleMembers(t *testing.T) {
	c, asked := serve(t, 200, fixture(t, "ensemble.json"), func(c *Config) { c.EnsembleDays = 1 })
	m, err := c.Ensemble(context.Background(), now, lakeside)
	require.NoError(t, err)
	require.Len(t, m.Series, 3, "member 03 has no humidity and is left out")
	assert.Equal(t, 1, m.Dropped)
	assert.Equal(t, 21.0, m.Series[0].Value(weather.Temp, 15))
	assert.Equal(t, 21.5, m.Series[1].Value(weather.Temp, 15))
	assert.True(t, math.IsNaN(m.Series[2].Value(weather.Temp, 22)), "a run that ends early")
	assert.Equal(t, m.Series[0].End(), m.Series[2].End())
	o, _ := m.Series[1].OriginAt(weather.Temp, 20)
	assert.Equal(t, "open-meteo ncep_gefs_seamless", o.Source)
	assert.Equal(t, weather.Forecast, o.Kind)
	assert.Equal(t, "ncep_gefs_seamless", (*asked)[0].Get("models"))
	assert.Equal(t, "1", (*asked)[0].Get("forecast_days"))
	assert.NotContains(t, (*asked)[0].Get("hourly"), "probability", "the ensemble has no such variable")
}

func TestEnsembleWithoutAUsableRun(t *testing.T) {
	for want, change := range map[string]func(m map[string]any){
		"missing-variable: no run of ncep_gefs_seamless": func(m map[string]any) { m["hourly"] = map[string]any{"time": m["hourly"].(map[string]any)["time"]} },
		"missing-variable: precipitation": func(m map[string]any) {
			h := m["hourly"].(map[string]any)
			for _, k := range []string{"precipitation", "precipitation_member01", "precipitation_member02", "precipitation_member03"} {
				delete(h, k)
			}
		},
		`wrong-unit: precipitation_member02: asked for mm, got "inch"`: func(m map[string]any) {
			m["hourly_units"].(map[string]any)["precipitation_member02"] = "inch"
		},
	} {
		c, _ := serve(t, 200, edit(t, "ensemble.json", change), func(c *Config) { c.EnsembleDays = 1 })
		_, err := c.Ensemble(context.Background(), now, lakeside)
		require.Error(t, err)
		assert.Contains(t, err.Error(), want)
	}
	c, _ := serve(t, 200, nil, nil)
	_, err := c.Ensemble(context.Background(), now, Place{Lat: 100})
	assert.Equal(t, source.BadRequest, source.CauseOf(err))
}

// Places of one cell share one set of runs, many go in one request, and half of the
// day's budget is left to forecasts.
func TestEnsemblesAreJoinedAndLeaveABudget(t *testing.T) {
	clock := now
	budget := source.NewBudget([]source.Window{{Per: 24 * time.Hour, Max: 300}}, nil)
	c, srv := at(t, func(c *Config) {
		c.Cell, c.Source.Budget, c.Source.Now = DefaultCell, budget, func() time.Time { return clock }
	})
	var places []Place
	for i := range 9 { // three a cell
		places = append(places, Place{Lat: 42.01 + 0.1*float64(i/3) + 0.01*float64(i%3), Lon: -76.55, Elev: 100})
	}
	got := map[int]Members{}
	ask := func() (failed int) {
		c.EachEnsemble(context.Background(), now, append(places, Place{Lat: 100}), func(i int, m Members, err error) {
			switch {
			case i == len(places):
				assert.Equal(t, source.BadRequest, source.CauseOf(err))
			case err != nil:
				assert.Equal(t, source.BudgetSpent, source.CauseOf(err))
				failed++
			default:
				got[i] = m
			}
		})
		return failed
	}
	assert.Zero(t, ask())
	require.Len(t, got, 9)
	assert.Same(t, got[0].Series[0], got[2].Series[0])
	assert.NotSame(t, got[2].Series[0], got[3].Series[0])
	assert.Len(t, got[0].Series, 5)
	requests, asked, _ := srv.Counts()
	assert.Equal(t, 1, requests)
	assert.Equal(t, 3, asked)
	// Seven variables of 31 runs over 16 days: 21.7 x 16 / 14 a place.
	assert.InDelta(t, 24.8, c.EnsembleWeight(), 1e-9)
	left, _ := budget.Left(clock, 24*time.Hour)
	assert.InDelta(t, 300-3*24.8, left, 1e-9)
	assert.Zero(t, ask())
	assert.Equal(t, 9, ask(), "223 of 300 would be spent")
	left, _ = budget.Left(clock, 24*time.Hour)
	assert.InDelta(t, 300-6*24.8, left, 1e-9)
	assert.NoError(t, c.Forecast(context.Background(), now, places[:1], 1, 7)[0].Err)
}
