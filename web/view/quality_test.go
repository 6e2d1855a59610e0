package view

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/web/say"
)

func TestQualityOf(t *testing.T) {
	now := time.Date(2026, 6, 10, 13, 0, 0, 0, time.UTC)
	in := &In{Site: &garden.Site{ID: "north", Zone: "Etc/UTC"}, Now: now}
	nan := math.NaN()
	e := weather.ForecastError{
		Temp: []weather.Error{{N: 100, Bias: 1, MAE: 1}, {}, {}, {N: 100, MAE: 2}, {N: 300, MAE: 4}},
		RH:   []weather.Error{{N: 100, MAE: 8}, {MAE: nan}, {MAE: nan}, {MAE: nan}, {MAE: nan}},
		Rain: []weather.RainCount{{Hits: 3, Misses: 1, FalseAlarms: 1, DryRight: 95}, {}, {}, {}, {}},
	}
	q := store.Quality{
		Since: now.AddDate(0, 0, -42), Against: weather.Station,
		Sources: []store.SourceQuality{
			{Source: "open-meteo", Error: e, Bias: []store.Bias{{Var: weather.Temp, All: weather.Error{N: 400, Bias: 1.25, MAE: 1.5}}, {Var: weather.RH, All: weather.Error{N: 400, Bias: -3, MAE: 5}}}},
			{Source: "new"},
		},
		Doubts: []store.Doubt{{Source: "shed", Open: true, Doubt: weather.Doubt{Fault: weather.FaultUnit, Vars: []weather.Var{weather.Temp}, From: now.AddDate(0, 0, -20), To: now, Sure: true, Reason: "reads like Fahrenheit taken as Celsius, beside the reference"}}},
	}
	aside := []store.SetAside{{Source: "shed", Fault: weather.FaultRange, N: 2, Last: now.Add(-time.Hour), Reason: "468 m/s is above 150"}}
	got := QualityOf(in, q, aside)
	require.NotNil(t, got)
	assert.Contains(t, got.Against, "held against what your own station measured")
	require.Len(t, got.Sources, 1, "a source of which nothing is known is left out")
	assert.Equal(t, []LeadRow{
		{Ahead: "day 1", Temp: "1.0", Humid: "8.0", Caught: "75 %", False: "25 %", Hours: 100},
		{Ahead: "days 4 to 5", Temp: "3.5", Humid: say.Missing, Caught: say.Missing, False: say.Missing, Hours: 400},
	}, got.Sources[0].Leads)
	assert.Equal(t, []string{
		"Forecasts of the next three days were on average 1.2 °C too warm, over 400 hours. It is not taken off; correct_bias in the configuration turns that on.",
		"Forecasts of the next three days were on average 3.0 % too dry, over 400 hours. It is not taken off; correct_bias in the configuration turns that on.",
	}, got.Sources[0].Bias)
	assert.Contains(t, got.Doubts[0], "shed, temperature from")
	assert.Contains(t, got.Doubts[0], "nor is what comes now")
	assert.Contains(t, got.Aside[0], "shed: 2 values set aside (range)")
	assert.Contains(t, got.Aside[0], "468 m/s is above 150")

	q.Corrected = true
	in.Style = say.Style{US: true}
	us := QualityOf(in, q, nil)
	assert.Equal(t, "1.8", us.Sources[0].Leads[0].Temp, "a difference of 1 C is 1.8 F")
	assert.Contains(t, us.Sources[0].Bias[0], "2.2 °F too warm, over 400 hours. That is taken off")

	q.Against = weather.Analysis
	assert.Contains(t, QualityOf(in, q, nil).Against, "the real error is larger")
	assert.Nil(t, QualityOf(in, store.Quality{}, nil))
}

func TestSourcesThatDisagree(t *testing.T) {
	now := time.Date(2026, 6, 10, 13, 0, 0, 0, time.UTC)
	in := &In{Site: &garden.Site{ID: "north", Zone: "Etc/UTC"}, Now: now}
	d := store.Disagreement{A: "open-meteo", B: "met-norway", Var: weather.Temp, Since: now.Add(-3 * time.Hour), To: now.Add(72 * time.Hour), Hours: 72, Mean: 6, MeanA: 18, MeanB: 12, Limit: 4}
	got := QualityOf(in, store.Quality{Disagreements: []store.Disagreement{d}}, nil)
	require.NotNil(t, got)
	assert.Equal(t, []string{"open-meteo and met-norway disagree widely on temperature, since today 10:00: by 6.0 °C over 72 hours to Sat 13 Jun 13:00 (18.0 °C and 12.0 °C). One of the two is likely wrong; the first is used where it has a value."}, got.Apart)
	in.Style = say.Style{US: true}
	assert.Contains(t, QualityOf(in, store.Quality{Disagreements: []store.Disagreement{d}}, nil).Apart[0], "by 10.8 °F")
	d.Var, d.Mean, d.MeanA, d.MeanB = weather.Rain, 19.2, 0, 19.2
	in.Style = say.Style{}
	assert.Contains(t, QualityOf(in, store.Quality{Disagreements: []store.Disagreement{d}}, nil).Apart[0], "on rain, since today 10:00: by 19.2 mm a day over 72 hours")
}

func TestHeightFromTheGrid(t *testing.T) {
	height := 312.4
	in := &In{Site: &garden.Site{ID: "north", Zone: "Etc/UTC"}, Now: time.Date(2026, 6, 10, 13, 0, 0, 0, time.UTC)}
	st := store.SourceStatus{Source: "open-meteo", Elevation: &height}
	assert.Equal(t, "312 m above the sea, from the grid: the site gives none", in.source(st).Height)
	in.Site.Elevation = 300
	assert.Empty(t, in.source(st).Height)
	in.Site.Elevation, st.Elevation = 0, nil
	assert.Empty(t, in.source(st).Height)
}
