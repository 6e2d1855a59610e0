package sqlite

import (
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/store"
)

func TestReadOnlyIsNamedAndHeard(t *testing.T) {
	var heard []string
	s, err := OpenWith(t.Context(), filepath.Join(t.TempDir(), "plot.db"), func(err error) { heard = append(heard, store.Fault(err)) })
	require.NoError(t, err)
	defer s.Close()
	require.NoError(t, s.SaveWeather(t.Context(), "a", hours(5, t0)))
	_, err = s.write.ExecContext(t.Context(), "PRAGMA query_only = 1") // SQLite then answers as for a disk that takes no changes
	require.NoError(t, err)
	err = s.AddScouting(t.Context(), garden.Scouting{ID: "a", Site: "a", Finding: garden.None})
	require.ErrorIs(t, err, store.ErrReadOnly)
	assert.ErrorContains(t, err, "mounted read-only")
	err = s.Keep(t.Context(), "x", nil)
	assert.ErrorIs(t, err, store.ErrReadOnly, "single statements are heard too")
	_, err = s.write.ExecContext(t.Context(), "PRAGMA query_only = 0")
	require.NoError(t, err)
	require.NoError(t, s.Keep(t.Context(), "x", nil))
	assert.Equal(t, []string{"", "read-only", "read-only", ""}, heard)
}

// A small disk of its own, full for real.
func TestARealDiskThatIsFull(t *testing.T) {
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", dir).CombinedOutput(); err != nil {
		t.Skipf("a small disk cannot be mounted here: %v: %s", err, out)
	}
	t.Cleanup(func() { assert.NoError(t, exec.Command("umount", dir).Run()) })
	s, err := Open(t.Context(), filepath.Join(dir, "plot.db"))
	require.NoError(t, err)
	defer s.Close()
	require.NoError(t, s.AddScouting(t.Context(), garden.Scouting{ID: "first", Site: "a", Finding: garden.None}))
	photo := func(id string) error {
		return s.AddPhoto(t.Context(), store.Photo{ID: id, Site: "a", At: t0, Type: "image/jpeg", Body: make([]byte, 100_000)})
	}
	kept := 0
	for err = photo("0"); err == nil && kept < 100; err = photo(string(rune('0' + kept))) {
		kept++
	}
	require.ErrorIs(t, err, store.ErrFull)
	log, err := s.Scoutings(t.Context(), "a")
	require.NoError(t, err, "what was kept can be read")
	assert.Len(t, log, 1)
	list, err := s.Photos(t.Context(), "a")
	require.NoError(t, err)
	assert.Len(t, list, kept, "what was acknowledged is there, what was refused is not")
	require.NoError(t, s.Check(t.Context()))
}
