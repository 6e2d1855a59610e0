package web

import (
	"context"
	"errors"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/web/webtest"
)

// judged is data that knows how far the weather is to be trusted.
type judged struct {
	*webtest.Data
	q   store.Quality
	err error
}

func (j judged) Quality(context.Context, string) (store.Quality, error) { return j.q, j.err }

func (j judged) CountRejects(_ context.Context, _ string, from time.Time) ([]store.SetAside, error) {
	if !from.Equal(webtest.Now().AddDate(0, 0, -30)) {
		return nil, errors.New("not the last 30 days")
	}
	return []store.SetAside{{Source: "shed", Fault: weather.FaultRange, N: 2, Last: webtest.Now(), Reason: "468 m/s is above 150"}}, nil
}

func TestWeatherPageSaysHowFarToTrustIt(t *testing.T) {
	d, data := deps(false)
	j := judged{Data: data, q: store.Quality{
		Against: weather.Station, Since: webtest.Now().AddDate(0, 0, -42),
		Sources: []store.SourceQuality{{Source: "open-meteo", Error: weather.ForecastError{Temp: []weather.Error{{N: 24, MAE: 1.5}}, RH: []weather.Error{{}}, Rain: []weather.RainCount{{}}}}},
		Doubts:  []store.Doubt{{Source: "shed", Doubt: weather.Doubt{Fault: weather.FaultClock, From: webtest.Now(), To: webtest.Now(), Sure: true, Reason: "3 hours late"}}},
	}}
	d.Data = j
	page := get(t, New(d), "/site/mill-lane/weather").Body.String()
	assert.Empty(t, wellFormed([]byte(page)))
	for _, want := range []string{"How far to trust it", "your own station", "day 1", ">1.5<", "3 hours late", "2 values set aside (range)"} {
		assert.Contains(t, page, want)
	}

	j.q, j.err = store.Quality{}, store.ErrNotFound
	d.Data = j
	page = get(t, New(d), "/site/mill-lane/weather").Body.String()
	assert.Contains(t, page, "2 values set aside (range)", "before the first account")
	j.err = errors.New("broken")
	d.Data = j
	assert.Equal(t, http.StatusInternalServerError, get(t, New(d), "/site/mill-lane/weather").Code)
	d.Data = data
	assert.NotContains(t, get(t, New(d), "/site/mill-lane/weather").Body.String(), "How far to trust it")
}
