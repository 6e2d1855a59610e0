package storetest

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/store"
)

// WriteRounds writes rounds, each of a day of its own and with messages, until ctx
// ends.
func WriteRounds(ctx context.Context, t testing.TB, s Store) {
	for i := 0; ctx.Err() == nil; i++ {
		at := t0.Add(time.Duration(i) * time.Hour)
		r := store.Round{Site: "north", At: at, Day: civil.Date(firstDay + i), Assessments: []plan.Assessment{assessment("tom", at, plan.Act)}}
		for m := range messagesPerRound {
			r.Messages = append(r.Messages, message(key(i, m), at))
		}
		if err := s.SaveRound(context.WithoutCancel(ctx), r); err != nil {
			assert.NoError(t, err)
			return
		}
	}
}

// RoundsAreWhole checks that each of the rounds that WriteRounds wrote has all that
// belongs to it.
func RoundsAreWhole(t testing.TB, s Store) {
	t.Helper()
	ctx := t.Context()
	past, err := s.AssessmentHistory(ctx, "north", "", 0, 0)
	require.NoError(t, err)
	all, err := s.Due(ctx, t0.Add(1e6*time.Hour), 1_000_000)
	require.NoError(t, err)
	assert.Len(t, all, len(past)*messagesPerRound)
	if len(past) > 0 {
		latest, err := s.LatestRound(ctx, "north")
		require.NoError(t, err)
		assert.Equal(t, len(past)-1, int(latest.Day)-firstDay)
	}
}
