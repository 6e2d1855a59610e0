package service

import (
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/service/config"
	"plotwarden/weather/openmeteo"
	"plotwarden/weather/source"
)

// Two sources at the free addresses have one day's budget between them, and a
// restart does not begin a new day.
func TestTheDaysBudgetOutlivesARestart(t *testing.T) {
	b := newSmall(t, april, lakeside)
	log := slog.New(slog.DiscardHandler)
	first, err := openBudgets(t.Context(), b.store, log)
	require.NoError(t, err)
	var clients []*openmeteo.Client
	for _, name := range []string{"one", "two"} {
		made, err := makeSource(&config.Source{Kind: config.OpenMeteo, Name: name}, source.Options{Name: name, UserAgent: "plotwarden/test"}, first)
		require.NoError(t, err)
		clients = append(clients, made.(*OpenMeteo).Client)
	}
	now := time.Now()
	_, err = first.free.Take(now, 540) // all that may go in a minute
	require.NoError(t, err)
	for _, c := range clients { // no request goes out
		r := c.Forecast(t.Context(), now, []openmeteo.Place{place(b.site)}, 7, 16)[0]
		assert.Equal(t, source.BudgetSpent, source.CauseOf(r.Err))
	}
	again, err := openBudgets(t.Context(), b.store, log)
	require.NoError(t, err)
	left, ok := again.free.Left(now, 24*time.Hour)
	require.True(t, ok)
	assert.Equal(t, 9000.0-540, left)
	_, err = again.free.Take(now, 100)
	assert.ErrorContains(t, err, "540.0 of 540 spent in 1m0s")

	require.NoError(t, b.store.Keep(t.Context(), keptBudget, []byte("rubbish")))
	_, err = openBudgets(t.Context(), b.store, log)
	assert.ErrorContains(t, err, "read what was asked of the weather service today")
}
