package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/store/engines"
	"plotwarden/store/pgtest"
	"plotwarden/store/sqlite"
	"plotwarden/store/storetest"
)

// configured writes a configuration whose store is at an address.
func configured(t *testing.T, address string) string {
	path := filepath.Join(t.TempDir(), "plotwarden.yaml")
	require.NoError(t, os.WriteFile(path, []byte(strings.Replace(replayConfig, "STORE", address, 1)), 0o600))
	return path
}

// filledStore returns the path of a store with something in every table.
func filledStore(t *testing.T) string {
	path := filepath.Join(t.TempDir(), "plot.db")
	st, err := sqlite.Open(t.Context(), path)
	require.NoError(t, err)
	storetest.Fill(t, st)
	require.NoError(t, st.Close())
	return path
}

func TestBackupAndRestore(t *testing.T) {
	db := filledStore(t)
	from := configured(t, db)
	file := filepath.Join(t.TempDir(), "plot.backup")
	b := plotwarden(t, "", "backup", "--config", from, file)
	require.Equal(t, 0, b.code, b.err)
	assert.Contains(t, b.out, "outbox ")
	info, err := os.Stat(file)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm(), "it holds what the store holds")
	again := plotwarden(t, "", "backup", "--config", from, file)
	assert.Equal(t, 2, again.code)
	assert.Contains(t, again.err, "--force")

	to := filepath.Join(t.TempDir(), "new.db")
	r := plotwarden(t, "", "restore", "--config", configured(t, to), file)
	require.Equal(t, 0, r.code, r.err)
	assert.Equal(t, b.out, r.out, "rows and hashes of every table")
	second := filepath.Join(t.TempDir(), "second.backup")
	require.Equal(t, 0, plotwarden(t, "", "backup", "--config", configured(t, to), second).code)

	r = plotwarden(t, "", "restore", "--config", configured(t, to), file)
	assert.Equal(t, 2, r.code)
	assert.Contains(t, r.err, "--force replaces")
	r = plotwarden(t, "", "restore", "--force", "--config", configured(t, to), file)
	require.Equal(t, 0, r.code, r.err)

	whole, err := os.ReadFile(file)
	require.NoError(t, err)
	half := filepath.Join(t.TempDir(), "half.backup")
	require.NoError(t, os.WriteFile(half, whole[:len(whole)/2], 0o600))
	r = plotwarden(t, "", "restore", "--force", "--config", configured(t, to), half)
	assert.Equal(t, 2, r.code)
	assert.Contains(t, r.err, "not a whole backup")
	b2 := plotwarden(t, "", "backup", "--force", "--config", configured(t, to), second)
	assert.Equal(t, b.out, b2.out, "the store is as before")
	parts, err := filepath.Glob(filepath.Join(filepath.Dir(second), "*.part"))
	require.NoError(t, err)
	assert.Empty(t, parts)
}

func TestRestoreOverADamagedFile(t *testing.T) {
	db := filledStore(t)
	file := filepath.Join(t.TempDir(), "plot.backup")
	b := plotwarden(t, "", "backup", "--config", configured(t, db), file)
	require.Equal(t, 0, b.code, b.err)
	junk := bytes.Repeat([]byte{7}, 8192)
	f, err := os.OpenFile(db, os.O_RDWR, 0)
	require.NoError(t, err)
	_, err = f.WriteAt(junk, 8192)
	require.NoError(t, err)
	require.NoError(t, f.Close())

	second := plotwarden(t, "", "backup", "--force", "--config", configured(t, db), file)
	assert.Equal(t, 1, second.code, "a damaged store does not replace a good backup")
	r := plotwarden(t, "", "restore", "--config", configured(t, db), file)
	assert.Equal(t, 1, r.code)
	assert.Contains(t, r.err, "plotwarden restore")
	r = plotwarden(t, "", "restore", "--force", "--config", configured(t, db), file)
	require.Equal(t, 0, r.code, r.err)
	assert.Equal(t, b.out, r.out)
	aside, err := filepath.Glob(db + ".damaged-*")
	require.NoError(t, err)
	assert.NotEmpty(t, aside)
}

func TestMoveCommand(t *testing.T) {
	db, server := filledStore(t), pgtest.New(t)
	there := plotwarden(t, "", "move", "--from", db, "--to", server)
	require.Equal(t, 0, there.code, there.err)
	back := filepath.Join(t.TempDir(), "back.db")
	home := plotwarden(t, "", "move", "--from", server, "--to", back)
	require.Equal(t, 0, home.code, home.err)
	sums := func(s string) string { return s[:strings.LastIndex(s, "the same in")] }
	assert.Equal(t, sums(there.out), sums(home.out))
	r := plotwarden(t, "", "move", "--from", db, "--to", server)
	assert.Equal(t, 2, r.code)
	assert.Contains(t, r.err, "not empty")
	assert.Equal(t, 2, plotwarden(t, "", "move", "--from", db, "--to", db).code)
	// The commands work from a configuration that names a server.
	b := plotwarden(t, "", "backup", "--config", configured(t, server), filepath.Join(t.TempDir(), "x.backup"))
	require.Equal(t, 0, b.code, b.err)
	assert.Equal(t, sums(there.out), b.out)
}

func TestExportAndImport(t *testing.T) {
	from, dir := configured(t, filledStore(t)), t.TempDir()
	file := filepath.Join(dir, "log.json")
	r := plotwarden(t, "", "export", "--config", from, file)
	require.Equal(t, 0, r.code, r.err)
	assert.Contains(t, r.err, "1 finds, 1 treatments, 1 records")
	assert.Equal(t, 2, plotwarden(t, "", "export", "--config", from, file).code, "it is there already")

	empty := filepath.Join(dir, "empty.db")
	st, err := sqlite.Open(t.Context(), empty)
	require.NoError(t, err)
	require.NoError(t, st.Close())
	to := configured(t, empty)
	r = plotwarden(t, "", "import", "--config", to, file)
	require.Equal(t, 0, r.code, r.err)
	require.Equal(t, 0, plotwarden(t, "", "import", "--config", to, file).code, "again changes nothing")
	back := plotwarden(t, "", "export", "--config", to, "-")
	written, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(written), back.out)

	table := filepath.Join(dir, "finds.csv")
	require.Equal(t, 0, plotwarden(t, "", "export", "--config", from, table).code)
	require.Equal(t, 0, plotwarden(t, "", "import", "--config", to, table).code, "the same in the other form")

	r = plotwarden(t, strings.Replace(back.out, `"finding":"none"`, `"finding":"found"`, 1), "import", "--config", to, "-")
	assert.Equal(t, 2, r.code)
	assert.Contains(t, r.err, "left as it was stored: log scouting s1")
	r = plotwarden(t, "id,site,finding,date\n,north,found,2026-06-04\n", "import", "--config", to, "-")
	assert.Equal(t, 2, r.code)
	assert.Contains(t, r.err, "each needs an id, a site and a day")
	r = plotwarden(t, "", "export", "--config", from, "--site", "nowhere", "-")
	assert.Equal(t, 2, r.code)
	assert.Contains(t, r.err, "north")
}

// What is imported counts in the decisions: it comes as treatments.
func TestImportedRecordsAreTreatments(t *testing.T) {
	path := filepath.Join(t.TempDir(), "plot.db")
	st, err := sqlite.Open(t.Context(), path)
	require.NoError(t, err)
	require.NoError(t, st.Close())
	text := "id,site,planting,start,product,label.intervalDays\nr1,ground,cabbages,2026-06-04T10:00:00Z,soap,7\n"
	r := plotwarden(t, text, "import", "--config", configured(t, path), "-")
	require.Equal(t, 0, r.code, r.err)
	st, err = sqlite.Open(context.Background(), path)
	require.NoError(t, err)
	defer st.Close()
	got, err := st.Treatments(t.Context(), "ground")
	require.NoError(t, err)
	assert.Equal(t, []garden.Treatment{{ID: "r1", Site: "ground", Planting: "cabbages", At: time.Date(2026, 6, 4, 10, 0, 0, 0, time.UTC), Material: "soap", IntervalDays: 7}}, got)
}

// The service itself stands on either engine: a round whose source does not answer
// leaves its traces in the store.
func TestARoundOnAServer(t *testing.T) {
	address := pgtest.New(t)
	path := filepath.Join(t.TempDir(), "plotwarden.yaml")
	text := strings.Replace(replayConfig, "STORE", address, 1)
	text = strings.Replace(text, "{kind: open-meteo}", "{kind: open-meteo, forecast_url: 'http://127.0.0.1:1/v1', archive_url: 'http://127.0.0.1:1/v1', ensemble_url: 'http://127.0.0.1:1/v1'}", 1)
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	r := plotwarden(t, "", "refresh", "--config", path)
	assert.NotContains(t, r.err, "SQLSTATE")
	st, err := engines.Open(t.Context(), address, engines.Options{})
	require.NoError(t, err)
	defer st.Close()
	from, err := st.Sources(t.Context(), "ground")
	require.NoError(t, err, r.err)
	require.NotEmpty(t, from, r.err)
	assert.Equal(t, 1, from[0].Consecutive)
	round, err := st.LatestRound(t.Context(), "ground")
	require.NoError(t, err, r.err)
	require.NotEmpty(t, round.Assessments)
	assert.Equal(t, plan.Blind, round.Assessments[0].Readiness, "no weather is blind")
}
