package sqlite

import (
	"context"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/store/storetest"
)

func open(t testing.TB) *Store {
	s, err := Open(t.Context(), filepath.Join(t.TempDir(), "plot.db"))
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, s.Close()) })
	return s
}

func TestSuite(t *testing.T) {
	storetest.Run(t, func(t *testing.T) storetest.Store { return open(t) })
}

func TestKilledProcessLosesNothing(t *testing.T) {
	kills := 30
	if testing.Short() {
		kills = 3
	}
	storetest.Kill(t, kills, filepath.Join(t.TempDir(), "plot.db"), func(path string) (storetest.Store, error) {
		return Open(context.Background(), path)
	})
}
