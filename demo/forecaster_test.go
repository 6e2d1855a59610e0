package demo

import (
	"net/http/httptest"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/weather"
	"plotwarden/weather/openmeteo"
	"plotwarden/weather/source"
)

// The real client reads back from the demonstration's server what was put in.
func TestTheRealClientReadsItBack(t *testing.T) {
	now := time.Date(2026, 6, 4, 10, 30, 0, 0, time.UTC)
	s := weather.NewSeries(now.AddDate(0, 0, -40).Truncate(24*time.Hour), 24*60)
	o, err := s.AddOrigin(weather.Origin{Source: "x", Kind: weather.Modelled})
	require.NoError(t, err)
	for i := range s.Len() {
		s.Set(weather.Temp, i, float64(i%24), o)
		s.Set(weather.RH, i, 50, o)
		s.Set(weather.DewPoint, i, 5, o)
		s.Set(weather.Rain, i, float64(i%7), o)
	}
	srv := httptest.NewServer((&forecaster{hours: s, lat: 40.6, lon: -73.8, elevation: 4, now: func() time.Time { return now }}).handler())
	defer srv.Close()
	c, err := openmeteo.New(openmeteo.Config{ForecastURL: srv.URL + "/v1/forecast", ArchiveURL: srv.URL + "/v1/archive",
		Source: source.Options{UserAgent: "plotwarden/test (a@b.example)", Now: func() time.Time { return now }}})
	require.NoError(t, err)
	p := openmeteo.Place{ID: "m", Lat: 40.6, Lon: -73.8, Elev: 4}
	r := c.Forecast(t.Context(), now, []openmeteo.Place{p}, 7, 16)[0]
	require.NoError(t, r.Err)
	a, err := c.Archive(t.Context(), p, civil.New(2026, 5, 1), civil.New(2026, 5, 20))
	require.NoError(t, err)
	for _, got := range []*weather.Series{r.Series, a.Series} {
		for i := range got.Len() - 1 {
			at := got.Time(i)
			assert.Equal(t, s.Value(weather.Temp, s.Index(at)), got.Value(weather.Temp, i), at)
			assert.Equal(t, s.Value(weather.Rain, s.Index(at)), got.Value(weather.Rain, i), "rain of %s belongs to the hour that begins then", at)
		}
	}
	resp, err := srv.Client().Get(srv.URL + "/v1/forecast?past_days=1&forecast_days=99")
	require.NoError(t, err)
	defer resp.Body.Close()
	assert.Equal(t, 400, resp.StatusCode)
}
