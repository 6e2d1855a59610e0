package engines

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/store"
	"plotwarden/store/pgtest"
)

func TestOpenTakesEitherAddress(t *testing.T) {
	path := filepath.Join(t.TempDir(), "plot.db")
	_, err := OpenExisting(t.Context(), path, Options{})
	assert.ErrorContains(t, err, "is not there")
	assert.NoFileExists(t, path)
	for _, address := range []string{path, pgtest.New(t)} {
		var heard []string
		s, err := Open(t.Context(), address, Options{Watch: func(err error) { heard = append(heard, store.Fault(err)) }})
		require.NoError(t, err)
		require.NoError(t, s.Keep(t.Context(), "x", []byte("y")))
		require.NoError(t, s.Close())
		assert.Equal(t, []string{""}, heard)
		s, err = OpenExisting(t.Context(), address, Options{})
		require.NoError(t, err)
		b, err := s.Kept(t.Context(), "x")
		require.NoError(t, err)
		assert.Equal(t, "y", string(b))
		require.NoError(t, s.Close())
	}
	assert.True(t, Postgres("postgresql://x@y/z"))
	assert.False(t, Postgres("postgres.db"))
}
