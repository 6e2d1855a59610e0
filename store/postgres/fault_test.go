package postgres

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/store"
	"plotwarden/store/pgtest"
)

var t0 = time.Date(2026, 6, 4, 10, 0, 0, 0, time.UTC)

func TestFaultsAreNamedAndHeard(t *testing.T) {
	address := pgtest.New(t)
	var heard []string
	s, err := Open(t.Context(), address, Options{Watch: func(err error) { heard = append(heard, store.Fault(err)) }})
	require.NoError(t, err)
	defer s.Close()
	for code, want := range map[string]error{"53100": store.ErrFull, "XX001": store.ErrDamaged} {
		err := s.change(t.Context(), "save", func(tx pgx.Tx) error {
			_, err := tx.Exec(t.Context(), fmt.Sprintf(`DO $$ BEGIN RAISE EXCEPTION 'as the server says it' USING ERRCODE = '%s'; END $$`, code))
			return err
		})
		require.ErrorIs(t, err, want)
	}
	assert.ElementsMatch(t, []string{"full", "damaged"}, heard)
	heard = nil
	require.NoError(t, s.Keep(t.Context(), "x", nil))
	ro, err := Open(t.Context(), address+"&default_transaction_read_only=on", Options{})
	require.NoError(t, err)
	defer ro.Close()
	require.ErrorIs(t, ro.Keep(t.Context(), "x", nil), store.ErrReadOnly)
	assert.Equal(t, []string{""}, heard)
}

func TestNoErrorHoldsThePassword(t *testing.T) {
	const secret = "hunter2hunter2"
	empty := filepath.Join(t.TempDir(), "none")
	for _, address := range []string{
		"postgres://me:" + secret + "@localhost:1/x",
		"postgres://me:" + secret + "@localhost:port/x",
		"postgres://me:" + secret + "@/x?host=" + empty + "&sslmode=odd",
		"postgres://me@/x?password=" + secret + "&host=" + empty,
	} {
		_, err := Open(t.Context(), address, Options{Password: secret})
		require.Error(t, err)
		assert.NotContains(t, err.Error(), secret)
	}
	_, err := Open(t.Context(), "postgres://me@/x?host="+empty, Options{})
	assert.ErrorContains(t, err, "does not answer")
}

// A server that is killed loses nothing that was acknowledged, and the store goes on
// when it is back.
func TestAKilledServerLosesNothing(t *testing.T) {
	if os.Getenv(pgtest.Env) != "" {
		t.Skip("the server is not ours to kill")
	}
	server := pgtest.Private(t)
	s := open(t, pgtest.NewIn(t, server))
	ctx := context.Background()
	done := make(chan struct{})
	var wg sync.WaitGroup
	var mu sync.Mutex
	acked := map[string]bool{}
	failures := 0
	for w := range 3 {
		wg.Go(func() {
			for i := 0; ; i++ {
				select {
				case <-done:
					return
				default:
				}
				key := fmt.Sprintf("%d/%05d", w, i)
				err := s.SaveRound(ctx, store.Round{Site: fmt.Sprint(w), At: t0.Add(time.Duration(i) * time.Minute), Messages: []store.Message{{Key: key, Site: fmt.Sprint(w), Slot: t0}}})
				mu.Lock()
				if err == nil {
					acked[key] = true
				} else {
					failures++
				}
				mu.Unlock()
				if err != nil {
					time.Sleep(20 * time.Millisecond)
				}
			}
		})
	}
	for range 3 {
		time.Sleep(300 * time.Millisecond)
		server.Stop("immediate")
		time.Sleep(50 * time.Millisecond)
		require.NoError(t, server.Start())
	}
	time.Sleep(300 * time.Millisecond)
	close(done)
	wg.Wait()
	all, err := s.Due(ctx, t0.Add(1000*time.Hour), 1_000_000)
	require.NoError(t, err)
	there := map[string]bool{}
	for _, d := range all {
		there[d.Key] = true
	}
	for key := range acked {
		assert.True(t, there[key], "%s was acknowledged", key)
	}
	require.Greater(t, len(acked), 20)
	assert.NotZero(t, failures, "the server was away")
	t.Logf("%d rounds acknowledged, all there; %d failed while the server was away", len(acked), failures)
}

// Many writers of one site's hours merge, and lose none.
func TestManyMergeTheSameHours(t *testing.T) {
	s := open(t, pgtest.New(t))
	var wg sync.WaitGroup
	for w := range 8 {
		wg.Go(func() {
			for i := range 5 {
				h := oneHour(w*5 + i)
				_, err := s.SaveFetched(context.Background(), []store.Fetched{{Site: "north", Source: "a", At: t0, Hours: h}, {Site: "south", Source: "a", At: t0, Hours: h}})
				assert.NoError(t, err)
			}
		})
	}
	wg.Wait()
	for _, site := range []string{"north", "south"} {
		got, err := s.LoadWeather(t.Context(), site, t0, t0.Add(40*time.Hour))
		require.NoError(t, err)
		assert.Len(t, known(got), 40)
	}
}
