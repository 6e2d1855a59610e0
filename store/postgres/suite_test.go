package postgres

import (
	"context"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/store/pgtest"
	"plotwarden/store/storetest"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

func open(t testing.TB, address string) *Store {
	s, err := Open(t.Context(), address, Options{})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, s.Close()) })
	return s
}

// SpoilRecord writes a record's body as another version of the program might have.
func (s *Store) SpoilRecord(ctx context.Context, id, body string) error {
	_, err := s.pool.Exec(ctx, `UPDATE records SET body = $1 WHERE id = $2`, body, id)
	return err
}

func TestSuite(t *testing.T) {
	storetest.Run(t, func(t *testing.T) storetest.Store { return open(t, pgtest.New(t)) })
}

func TestKilledProcessLosesNothing(t *testing.T) {
	kills := 15
	if testing.Short() {
		kills = 3
	}
	place := os.Getenv(storetest.KillEnv) // set in the process that is to be killed
	if place == "" {
		place = pgtest.New(t)
	}
	storetest.Kill(t, kills, place, func(address string) (storetest.Store, error) {
		return Open(context.Background(), address, Options{})
	})
}
