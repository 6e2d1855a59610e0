package sqlite

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/store"
	"plotwarden/weather"
)

// A row that a newer program wrote must not be overwritten; it stops its own site
// alone, in sight. One that is damaged is set aside and stops nobody.
func TestARowThatCannotBeReadStopsItsSiteAlone(t *testing.T) {
	ctx := t.Context()
	s, err := Open(ctx, filepath.Join(t.TempDir(), "x.db"))
	require.NoError(t, err)
	defer s.Close()
	at := time.Date(2026, 6, 4, 10, 0, 0, 0, time.UTC)
	h := weather.NewSeries(at, 48)
	o, err := h.AddOrigin(weather.Origin{Source: "a", Kind: weather.Forecast, Fetched: at})
	require.NoError(t, err)
	for i := range h.Len() {
		h.Set(weather.Temp, i, 7, o)
	}
	var batch []store.Fetched
	for _, site := range []string{"one", "newer", "damaged", "two"} {
		require.NoError(t, s.SaveWeather(ctx, site, h))
		batch = append(batch, store.Fetched{Site: site, Source: "a", At: at, Hours: h, Ahead: h})
	}
	_, err = s.write.ExecContext(ctx, `UPDATE weather SET hours = x'530900000000' WHERE site = 'newer'`)
	require.NoError(t, err)
	spoilt, err := s.write.ExecContext(ctx, `UPDATE weather SET hours = x'5301ffffffff' WHERE site = 'damaged'`)
	require.NoError(t, err)

	failed, err := s.SaveFetched(ctx, batch)
	require.NoError(t, err)
	for i, f := range batch {
		list, err := s.Sources(ctx, f.Site)
		require.NoError(t, err)
		require.Len(t, list, 1)
		issued, err := s.Forecasts(ctx, f.Site, at, at.Add(time.Hour))
		require.NoError(t, err)
		if f.Site != "newer" {
			assert.NoError(t, failed[i])
			assert.Equal(t, at, list[0].LastGood)
			assert.Len(t, issued, 1)
			got, err := s.LoadWeather(ctx, f.Site, at, at.Add(time.Hour))
			require.NoError(t, err, f.Site)
			assert.Equal(t, 7.0, got.Value(weather.Temp, 0))
			continue
		}
		assert.ErrorContains(t, failed[i], "save what a said of newer")
		assert.ErrorContains(t, failed[i], "stored data has layout 9")
		assert.Equal(t, store.SourceStatus{Site: "newer", Source: "a", LastTry: at, LastErr: list[0].LastErr, Cause: store.NotKept, Consecutive: 1}, list[0])
		assert.Contains(t, list[0].LastErr, "layout 9")
		assert.Empty(t, issued, "nothing of the entry is kept")
	}
	rows, err := spoilt.RowsAffected()
	require.NoError(t, err)
	var kept int64
	require.NoError(t, s.read.QueryRowContext(ctx, `SELECT count(*) FROM set_aside WHERE place LIKE 'weather damaged %'`).Scan(&kept))
	assert.Equal(t, rows, kept)

	_, err = s.write.ExecContext(ctx, `DROP TABLE forecasts`)
	require.NoError(t, err)
	failed, err = s.SaveFetched(ctx, batch[:1])
	require.NoError(t, err)
	assert.ErrorContains(t, failed[0], "no such table", "whatever is wrong with an entry is its own")
}
