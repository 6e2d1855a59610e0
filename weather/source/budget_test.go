package source

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var noon = time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)

// No stretch of the window's length may hold more than the limit, wherever it
// begins, and the wait that a refusal names must be enough for a small request.
func TestBudgetIsNeverExceededInAnyStretch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := Window{Per: 24 * time.Hour, Max: 50}
		b := NewBudget([]Window{w}, nil)
		now := noon
		var spent []Spend
		for range rapid.IntRange(1, 120).Draw(t, "requests") {
			now = now.Add(time.Duration(rapid.Int64Range(0, int64(3*time.Hour)).Draw(t, "gap")))
			weight := rapid.Float64Range(0.5, 12).Draw(t, "weight")
			wait, err := b.Take(now, weight)
			if err == nil {
				spent = append(spent, Spend{now, weight})
			} else if _, err := b.Take(now.Add(wait), weight); err != nil {
				t.Fatalf("refused again after the wait of %s: %v", wait, err)
			} else {
				now = now.Add(wait)
				spent = append(spent, Spend{now, weight})
			}
		}
		for i := range spent {
			var sum float64
			for j := i; j < len(spent) && spent[j].At.Sub(spent[i].At) < w.Per; j++ {
				sum += spent[j].Weight
			}
			if sum > w.Max+1e-9 {
				t.Fatalf("%.2f in the day from %s", sum, spent[i].At)
			}
		}
	})
}

func TestBudgetOfSeveralWindowsTakesNothingWhenOneIsFull(t *testing.T) {
	b := NewBudget([]Window{{time.Minute, 10}, {24 * time.Hour, 15}}, nil)
	_, err := b.Take(noon, 10)
	require.NoError(t, err)
	wait, err := b.Take(noon, 1)
	require.ErrorContains(t, err, "10.0 of 10 spent in 1m0s")
	assert.InDelta(t, 61, wait.Seconds(), 2.5)
	left, ok := b.Left(noon, 24*time.Hour)
	require.True(t, ok)
	assert.Equal(t, 5.0, left)
	_, err = b.Take(noon.Add(2*time.Minute), 6)
	require.ErrorContains(t, err, "24h")
	left, _ = b.Left(noon.Add(2*time.Minute), time.Minute)
	assert.Equal(t, 10.0, left, "the minute must not pay for what the day refused")
	_, err = b.Take(noon, 16)
	require.ErrorContains(t, err, "ask for less at once")
	_, ok = b.Left(noon, time.Hour)
	assert.False(t, ok)
}

func TestBudgetRemembersAcrossARestartAndAClockSetBack(t *testing.T) {
	w := []Window{{24 * time.Hour, 10}}
	b := NewBudget(w, []Spend{{noon.Add(-48 * time.Hour), 9}, {noon.Add(-time.Hour), 7}})
	left, _ := b.Left(noon, 24*time.Hour)
	assert.Equal(t, 3.0, left)
	_, err := b.Take(noon.Add(-72*time.Hour), 3)
	require.NoError(t, err)
	left, _ = b.Left(noon, 24*time.Hour)
	assert.Equal(t, 0.0, left, "a clock set back must not give room")
}

// What is recorded before each request is what a later process has to start with,
// and a share that is left to others is left.
func TestBudgetIsRecordedAndShared(t *testing.T) {
	w := []Window{{time.Minute, 8}, {24 * time.Hour, 10}}
	b := NewBudget(w, nil)
	var kept []Spend
	b.Record(func(s []Spend) { kept = s })
	_, err := b.TakeLeaving(noon, 4, 0.5)
	require.NoError(t, err)
	_, err = b.TakeLeaving(noon.Add(2*time.Hour), 2, 0.5)
	require.ErrorContains(t, err, "4.0 of 5 spent in 24h0m0s")
	_, err = b.Take(noon.Add(2*time.Hour), 5)
	require.NoError(t, err, "others may have it")
	require.Len(t, kept, 2)
	assert.Equal(t, 9.0, kept[0].Weight+kept[1].Weight)

	again := NewBudget(w, kept)
	left, _ := again.Left(noon.Add(3*time.Hour), 24*time.Hour)
	assert.Equal(t, 1.0, left)
	_, err = again.Take(noon.Add(3*time.Hour), 2)
	require.Error(t, err)
	left, _ = again.Left(noon.Add(25*time.Hour+time.Minute), 24*time.Hour)
	assert.Equal(t, 5.0, left, "the first four are a day ago")
	_, err = b.TakeLeaving(noon.Add(72*time.Hour), 5, 0.5)
	require.NoError(t, err)
	_, err = b.TakeLeaving(noon.Add(96*time.Hour+time.Hour), 4.9, 0.5)
	require.NoError(t, err, "the share is of hours and days, not of minutes")
}
