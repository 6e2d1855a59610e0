package weather

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestShiftMovesTheHoursOnly(t *testing.T) {
	s := hoursFrom(t, "2026-06-01T00:00:00Z", 2)
	o, err := s.AddOrigin(Origin{Source: "own", Kind: Station})
	require.NoError(t, err)
	s.Set(Temp, 1, 20, o)
	m := s.Shift(-48)
	assert.Equal(t, s.Start().Add(-48*time.Hour), m.Start())
	assert.Equal(t, 20.0, m.Value(Temp, 1))
	assert.Equal(t, "2026-06-01T00:00:00Z", s.Start().Format(time.RFC3339), "the receiver stays")
}
