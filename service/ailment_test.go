package service

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/store"
)

func TestWhatAilsTheStoreIsSeen(t *testing.T) {
	var log bytes.Buffer
	now := time.Date(2026, 6, 4, 10, 0, 0, 0, time.UTC)
	a := newAilment(slog.New(slog.NewTextHandler(&log, nil)), func() time.Time { return now })
	r := prometheus.NewRegistry()
	a.register(r)
	a.heard(nil)
	a.heard(fmt.Errorf("claim: %w", store.ErrTaken))
	require.NoError(t, a.health())
	assert.Empty(t, log.String())

	full := fmt.Errorf("save round of north: %w", store.ErrFull)
	a.heard(full)
	a.heard(fmt.Errorf("claim: %w", store.ErrTaken))
	a.heard(full)
	require.ErrorIs(t, a.health(), store.ErrFull)
	assert.ErrorContains(t, a.health(), "2026-06-04T10:00:00Z")
	assert.Equal(t, 2.0, testutil.ToFloat64(a.faults.WithLabelValues("full")))
	assert.Zero(t, testutil.ToFloat64(a.sound))
	assert.Equal(t, 1, bytes.Count(log.Bytes(), []byte("cannot keep")), "said once, not with each try")
	now = now.Add(90 * time.Second)
	a.heard(nil)
	require.NoError(t, a.health())
	assert.Equal(t, 1.0, testutil.ToFloat64(a.sound))
	assert.Contains(t, log.String(), "after=1m30s")
}

func TestAClockThatJumpsIsSeen(t *testing.T) {
	var log bytes.Buffer
	a := newAilment(slog.New(slog.NewTextHandler(&log, nil)), time.Now)
	t0 := time.Date(2026, 6, 4, 10, 0, 0, 0, time.UTC)
	a.clock(t0, t0.Add(25*time.Second), 20*time.Second)
	assert.Empty(t, log.String())
	a.clock(t0, t0.Add(-time.Hour), 20*time.Second)
	assert.Contains(t, log.String(), "by=-1h0m20s")
	a.clock(t0, t0.Add(50*24*time.Hour), 20*time.Second)
	assert.Contains(t, log.String(), "by=1199h59m40s")
	assert.Equal(t, 2.0, testutil.ToFloat64(a.jumps))
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	a.watchClock(ctx) // returns
}
