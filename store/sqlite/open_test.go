package sqlite

import (
	"context"
	"database/sql"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/store/pack"
	"plotwarden/weather"
)

var t0 = time.Date(2026, 6, 4, 10, 0, 0, 0, time.UTC)

func hours(n int, fetched time.Time) *weather.Series {
	s := weather.NewSeries(t0, n)
	h, err := s.AddOrigin(weather.Origin{Source: "a", Kind: weather.Forecast, Fetched: fetched})
	if err != nil {
		panic(err)
	}
	for i := range n {
		s.Set(weather.Temp, i, float64(i), h)
	}
	return s
}

// filled returns the path of a closed database with some contents.
func filled(t *testing.T) string {
	path := filepath.Join(t.TempDir(), "plot.db")
	s, err := Open(t.Context(), path)
	require.NoError(t, err)
	for i := range 50 {
		require.NoError(t, s.SaveWeather(t.Context(), string(rune('a'+i)), hours(2000, t0)))
	}
	require.NoError(t, s.Close())
	return path
}

func TestOpenMakesFolderAndTakesAnyPath(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new folder", "100% a?b#c.db")
	s, err := Open(t.Context(), path)
	require.NoError(t, err)
	require.NoError(t, s.SaveWeather(t.Context(), "a", hours(5, t0)))
	require.NoError(t, s.Close())
	assert.FileExists(t, path)
	s, err = Open(t.Context(), path)
	require.NoError(t, err)
	got, err := s.LoadWeather(t.Context(), "a", t0, t0.Add(5*time.Hour))
	require.NoError(t, err)
	assert.Equal(t, 4.0, got.Value(weather.Temp, 4))
	require.NoError(t, s.Close())
}

func TestPragmasHoldOnEveryConnection(t *testing.T) {
	s := open(t)
	for _, c := range []struct {
		db     *sql.DB
		pragma string
		want   string
	}{
		{s.write, "journal_mode", "wal"}, {s.write, "synchronous", "2"}, {s.write, "busy_timeout", "10000"}, {s.write, "foreign_keys", "1"},
		{s.read, "journal_mode", "wal"}, {s.read, "query_only", "1"}, {s.read, "busy_timeout", "10000"},
	} {
		var got string
		require.NoError(t, c.db.QueryRowContext(t.Context(), "PRAGMA "+c.pragma).Scan(&got))
		assert.Equal(t, c.want, got, c.pragma)
	}
}

func TestOpenRefusesWhatItCannotTrust(t *testing.T) {
	newer := func(t *testing.T, path string) {
		s, err := Open(t.Context(), path)
		require.NoError(t, err)
		_, err = s.write.ExecContext(t.Context(), "INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, 1)")
		require.NoError(t, err)
		require.NoError(t, s.Close())
	}
	foreign := func(t *testing.T, path string) {
		require.NoError(t, os.Remove(path))
		db, err := sql.Open("sqlite", path)
		require.NoError(t, err)
		_, err = db.ExecContext(t.Context(), "CREATE TABLE theirs (x)")
		require.NoError(t, err)
		require.NoError(t, db.Close())
	}
	overwrite := func(from, n int64) func(*testing.T, string) {
		return func(t *testing.T, path string) {
			f, err := os.OpenFile(path, os.O_RDWR, 0)
			require.NoError(t, err)
			junk := make([]byte, n)
			for i := range junk {
				junk[i] = byte(i*7 + 3)
			}
			_, err = f.WriteAt(junk, from)
			require.NoError(t, err)
			require.NoError(t, f.Close())
		}
	}
	cut := func(keep int64) func(*testing.T, string) {
		return func(t *testing.T, path string) { require.NoError(t, os.Truncate(path, keep)) }
	}
	for name, c := range map[string]struct {
		spoil   func(*testing.T, string)
		damaged bool
		says    string
	}{
		"text where the header belongs": {overwrite(0, 64), true, "does not begin as an SQLite file"},
		"a few bytes":                   {cut(9), true, "does not begin as an SQLite file"},
		"half of the file":              {cut(40_960), true, "put a backup in its stead"},
		"a page overwritten":            {overwrite(8192, 8192), true, "put a backup in its stead"},
		"a newer layout":                {newer, false, "written by a newer version"},
		"another program's file":        {foreign, false, "another program"},
	} {
		t.Run(name, func(t *testing.T) {
			path := filled(t)
			c.spoil(t, path)
			s, err := Open(t.Context(), path)
			if !assert.Error(t, err) {
				require.NoError(t, s.Close())
				return
			}
			assert.ErrorContains(t, err, c.says)
			assert.ErrorContains(t, err, path)
			if c.damaged {
				assert.ErrorIs(t, err, ErrDamaged)
			}
		})
	}
	_, err := Open(t.Context(), filepath.Join(filled(t), "below-a-file.db"))
	assert.ErrorContains(t, err, "make the folder")
}

func TestManyOpenAFreshFileAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "plot.db")
	var wg sync.WaitGroup
	for range 6 {
		wg.Go(func() {
			s, err := Open(context.WithoutCancel(t.Context()), path)
			if assert.NoError(t, err) {
				assert.NoError(t, s.Close())
			}
		})
	}
	wg.Wait()
}

func TestFullDiskLosesNothingAndIsNamed(t *testing.T) {
	s := open(t)
	require.NoError(t, s.AddScouting(t.Context(), garden.Scouting{ID: "first", Site: "a", Finding: garden.None}))
	_, err := s.write.ExecContext(t.Context(), "PRAGMA max_page_count = 1") // rounds up to the present size
	require.NoError(t, err)
	for i := 0; err == nil && i < 1000; i++ {
		err = s.SaveWeather(t.Context(), string(rune('A'+i)), hours(5000, t0))
	}
	require.ErrorContains(t, err, "full")
	assert.ErrorContains(t, err, "Free some space")
	_, err = s.write.ExecContext(t.Context(), "PRAGMA max_page_count = 1000000")
	require.NoError(t, err)
	require.NoError(t, s.SaveWeather(t.Context(), "later", hours(5000, t0)))
	log, err := s.Scoutings(t.Context(), "a")
	require.NoError(t, err)
	assert.Len(t, log, 1)
	assert.NoError(t, s.Check(t.Context()))
}

func TestADamagedRowIsNamedAndClearedByNewData(t *testing.T) {
	s := open(t)
	require.NoError(t, s.SaveWeather(t.Context(), "a", hours(100, t0)))
	_, err := s.write.ExecContext(t.Context(), "UPDATE weather SET hours = x'530100000000ffff'")
	require.NoError(t, err)
	_, err = s.LoadWeather(t.Context(), "a", t0, t0.Add(time.Hour))
	require.ErrorIs(t, err, pack.ErrDamaged)
	assert.ErrorContains(t, err, "ten days from 2026-05-")
	require.NoError(t, s.SaveWeather(t.Context(), "a", hours(100, t0.Add(time.Hour))))
	got, err := s.LoadWeather(t.Context(), "a", t0, t0.Add(time.Hour))
	require.NoError(t, err)
	assert.Equal(t, 0.0, got.Value(weather.Temp, 0))
	var place string
	require.NoError(t, s.read.QueryRowContext(t.Context(), "SELECT place FROM set_aside LIMIT 1").Scan(&place))
	assert.Contains(t, place, "weather a")
}

func TestCancelledWriteLeavesTheStoreUsable(t *testing.T) {
	s := open(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	assert.ErrorIs(t, s.SaveWeather(ctx, "a", hours(100, t0)), context.Canceled)
	assert.NoError(t, s.SaveWeather(t.Context(), "a", hours(100, t0)))
}
