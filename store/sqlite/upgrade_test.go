package sqlite

import (
	"database/sql"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/pressly/goose/v3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/store"
	"plotwarden/weather"
)

// A store that an earlier program wrote comes up with all that it had.
func TestUpgradeKeepsEverything(t *testing.T) {
	path := filepath.Join(t.TempDir(), "plot.db")
	script, err := os.ReadFile("testdata/layout-0004.sql")
	require.NoError(t, err)
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	_, err = db.ExecContext(t.Context(), string(script))
	require.NoError(t, err)
	require.NoError(t, db.Close())

	ctx := t.Context()
	s, err := Open(ctx, path)
	require.NoError(t, err)
	defer s.Close()
	require.NoError(t, s.Check(ctx))
	h, err := s.LoadWeather(ctx, "north", t0, t0.Add(60*time.Hour))
	require.NoError(t, err)
	assert.Equal(t, 15.9, h.Value(weather.Temp, 59))
	f, err := s.Forecasts(ctx, "north", t0, t0.Add(time.Hour))
	require.NoError(t, err)
	assert.Len(t, f, 1)
	days, err := s.LoadDays(ctx, "north", 0, 0)
	require.NoError(t, err)
	require.Len(t, days, 1)
	assert.Equal(t, -2.0, days[0].Min)
	r, err := s.LatestRound(ctx, "north")
	require.NoError(t, err)
	require.Len(t, r.Assessments, 1)
	assert.Equal(t, plan.Act, r.Assessments[0].Readiness)
	past, err := s.AssessmentHistory(ctx, "north", "", 0, 0)
	require.NoError(t, err)
	assert.Len(t, past, 1)
	_, err = s.Begin(ctx, "k1", t0.Add(time.Hour))
	assert.ErrorIs(t, err, store.ErrTaken, "what was sent is not sent again")
	due, err := s.Due(ctx, t0.Add(time.Hour), 9)
	require.NoError(t, err)
	require.Len(t, due, 1)
	assert.Equal(t, []string{"k2", "body", "told"}, []string{due[0].Key, string(due[0].Body), string(due[0].Told)})
	assert.ErrorIs(t, s.ClaimSlot(ctx, "job", t0), store.ErrTaken)
	looks, err := s.Scoutings(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, []garden.Scouting{{ID: "s1", Site: "north", Planting: "tom", Threat: "some-threat", Date: civil.New(2026, 6, 4), Finding: garden.Found, Note: "lowest leaves"}}, looks)
	done, err := s.Treatments(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, []garden.Treatment{{ID: "t1", Site: "north", Planting: "tom", Threats: []string{"some-threat"}, At: t0, Material: "mine", IntervalDays: 7}}, done)
	from, err := s.Sources(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, []store.SourceStatus{{Site: "north", Source: "a", LastTry: t0, LastGood: t0}}, from, "a height that nobody said is none")
	chosen, err := s.Choices(ctx, "north")
	require.NoError(t, err)
	require.Len(t, chosen, 1)
	assert.Equal(t, civil.New(2026, 6, 30), chosen[0].Until)
	subs, err := s.Subscriptions(ctx, "ada")
	require.NoError(t, err)
	assert.Len(t, subs, 1)
	secret, err := s.Kept(ctx, "secret")
	require.NoError(t, err)
	assert.Equal(t, []byte{0, 255}, secret)
	aside, err := s.Rejects(ctx, "north", t0, t0.Add(time.Hour))
	require.NoError(t, err)
	require.Len(t, aside, 1)
	assert.Equal(t, 400.0, aside[0].Value)
	_, err = s.Quality(ctx, "north")
	require.NoError(t, err)
	// And it takes what is new.
	require.NoError(t, s.AddRecord(ctx, garden.Record{ID: "r1", Site: "north", Replaces: "t1", Why: "not done", Withdrawn: true, Start: t0}))
	done, err = s.Treatments(ctx, "north")
	require.NoError(t, err)
	assert.Empty(t, done)
}

// Every layout there ever was is brought up to date, with its rows.
func TestUpgradeFromEachLayout(t *testing.T) {
	files, err := fs.Sub(migrationFiles, "migrations")
	require.NoError(t, err)
	list, err := fs.Glob(files, "*.sql")
	require.NoError(t, err)
	for n := range list {
		t.Run(fmt.Sprint("layout ", n+1), func(t *testing.T) {
			ctx := t.Context()
			path := filepath.Join(t.TempDir(), "plot.db")
			db, err := sql.Open("sqlite", path)
			require.NoError(t, err)
			p, err := goose.NewProvider(goose.DialectSQLite3, db, files, goose.WithDisableGlobalRegistry(true))
			require.NoError(t, err)
			_, err = p.UpTo(ctx, int64(n+1))
			require.NoError(t, err)
			_, err = db.ExecContext(ctx, fmt.Sprintf(`PRAGMA application_id = %d; INSERT INTO scoutings VALUES ('s', 'north', 1, '{"id":"s","site":"north","finding":"none"}');
				INSERT INTO slots VALUES ('job', %d)`, applicationID, micros(t0)))
			require.NoError(t, err)
			require.NoError(t, db.Close())
			s, err := Open(ctx, path)
			require.NoError(t, err)
			defer s.Close()
			looks, err := s.Scoutings(ctx, "north")
			require.NoError(t, err)
			assert.Len(t, looks, 1)
			assert.ErrorIs(t, s.ClaimSlot(ctx, "job", t0), store.ErrTaken)
		})
	}
}
