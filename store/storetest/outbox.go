package storetest

import (
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/store"
)

func put(t *testing.T, s Store, at time.Time, keys ...string) {
	r := store.Round{Site: "north", At: at}
	for _, k := range keys {
		r.Messages = append(r.Messages, message(k, at))
	}
	require.NoError(t, s.SaveRound(t.Context(), r))
}

func due(t *testing.T, s Store, now time.Time) []string {
	list, err := s.Due(t.Context(), now, 100)
	require.NoError(t, err)
	keys := []string{}
	for _, d := range list {
		keys = append(keys, d.Key)
	}
	return keys
}

func testSlots(t *testing.T, s Store) {
	ctx := t.Context()
	require.NoError(t, s.ClaimSlot(ctx, "digest/north", t0))
	assert.ErrorIs(t, s.ClaimSlot(ctx, "digest/north", t0.In(time.FixedZone("x", 3600))), store.ErrTaken, "the same instant")
	assert.NoError(t, s.ClaimSlot(ctx, "digest/north", t0.Add(time.Hour)))
	assert.NoError(t, s.ClaimSlot(ctx, "digest/south", t0))
}

func testOutbox(t *testing.T, s Store) {
	ctx := t.Context()
	put(t, s, t0.Add(time.Minute), "b")
	put(t, s, t0, "c", "a")
	assert.Empty(t, due(t, s, t0.Add(-time.Second)), "not before its slot")
	assert.Equal(t, []string{"a", "c", "b"}, due(t, s, t0.Add(time.Hour)))
	few, err := s.Due(ctx, t0.Add(time.Hour), 2)
	require.NoError(t, err)
	require.Len(t, few, 2)
	assert.Equal(t, store.Delivery{Message: message("a", t0), State: store.Pending, NextAt: t0}, few[0])

	now := t0.Add(time.Hour)
	n, err := s.Begin(ctx, "a", now)
	require.NoError(t, err)
	assert.Equal(t, 1, n)
	_, err = s.Begin(ctx, "a", now)
	assert.ErrorIs(t, err, store.ErrTaken)
	_, err = s.Begin(ctx, "nothing", now)
	assert.ErrorIs(t, err, store.ErrNotFound)
	assert.Equal(t, []string{"c", "b"}, due(t, s, now))

	require.NoError(t, s.Retry(ctx, "a", n, now.Add(time.Minute), errors.New("451 later")))
	d, err := s.Delivery(ctx, "a")
	require.NoError(t, err)
	assert.Equal(t, []any{store.Pending, 1, now.Add(time.Minute), "451 later"}, []any{d.State, d.Attempts, d.NextAt, d.LastErr})
	_, err = s.Begin(ctx, "a", now)
	assert.ErrorIs(t, err, store.ErrTaken, "not before its next try")

	now = now.Add(time.Minute)
	n, err = s.Begin(ctx, "a", now)
	require.NoError(t, err)
	assert.Equal(t, 2, n)
	require.NoError(t, s.Sent(ctx, "a", now))
	require.NoError(t, s.Sent(ctx, "a", now.Add(time.Hour)), "twice is no error")
	d, err = s.Delivery(ctx, "a")
	require.NoError(t, err)
	assert.Equal(t, []any{store.Sent, 2, now, ""}, []any{d.State, d.Attempts, d.SentAt, d.LastErr})
	assert.ErrorIs(t, s.Retry(ctx, "a", 2, now, errors.New("x")), store.ErrTaken)
	assert.ErrorIs(t, s.Fail(ctx, "a", 2, errors.New("x")), store.ErrTaken)

	n, err = s.Begin(ctx, "c", now)
	require.NoError(t, err)
	assert.ErrorIs(t, s.Fail(ctx, "c", n+1, errors.New("x")), store.ErrTaken)
	require.NoError(t, s.Fail(ctx, "c", n, errors.New("550 no such user")))
	assert.Equal(t, []string{"b"}, due(t, s, now))
	failed, err := s.Failed(ctx, t0, 10)
	require.NoError(t, err)
	require.Len(t, failed, 1)
	assert.Equal(t, []string{"c", "550 no such user"}, []string{failed[0].Key, failed[0].LastErr})
	failed, err = s.Failed(ctx, t0.Add(time.Second), 10)
	require.NoError(t, err)
	assert.Empty(t, failed)
	who, err := s.Addressed(ctx, "north", t0)
	require.NoError(t, err)
	assert.Equal(t, map[string]bool{"ada": true}, who)
	who, err = s.Addressed(ctx, "north", t0.Add(time.Second))
	require.NoError(t, err)
	assert.Empty(t, who)
	stats, err := s.OutboxStats(ctx)
	require.NoError(t, err)
	assert.Equal(t, store.OutboxStats{Pending: 1, Sent: 1, Failed: 1, Oldest: t0.Add(time.Minute)}, stats)
	for _, err := range []error{s.Sent(ctx, "nothing", now), s.Retry(ctx, "nothing", 1, now, errors.New("x")), s.Fail(ctx, "nothing", 1, errors.New("x"))} {
		assert.ErrorIs(t, err, store.ErrNotFound)
	}
}

func testLease(t *testing.T, s Store) {
	ctx := t.Context()
	put(t, s, t0, "a")
	first, err := s.Begin(ctx, "a", t0)
	require.NoError(t, err)
	_, err = s.Begin(ctx, "a", t0.Add(store.Lease-time.Second))
	assert.ErrorIs(t, err, store.ErrTaken)
	assert.Empty(t, due(t, s, t0.Add(-store.Lease/2)), "two clocks that differ a little")

	// The attempt is lost: the message is due again, under the same key.
	later := t0.Add(store.Lease)
	assert.Equal(t, []string{"a"}, due(t, s, later))
	second, err := s.Begin(ctx, "a", later)
	require.NoError(t, err)
	assert.Equal(t, first+1, second)
	assert.ErrorIs(t, s.Retry(ctx, "a", first, later, errors.New("late word")), store.ErrTaken)

	// A clock that ran days ahead is put right.
	ahead := t0.Add(400 * 24 * time.Hour)
	third, err := s.Begin(ctx, "a", ahead)
	require.NoError(t, err)
	assert.Equal(t, []string{"a"}, due(t, s, later))
	require.NoError(t, s.Retry(ctx, "a", third, ahead.Add(time.Minute), errors.New("451")))
	assert.Equal(t, []string{"a"}, due(t, s, later))
	_, err = s.Begin(ctx, "a", later)
	require.NoError(t, err)

	// What the first attempt got accepted counts, however late the word comes.
	require.NoError(t, s.Sent(ctx, "a", later))
	assert.Empty(t, due(t, s, ahead))
}

func testManyWorkers(t *testing.T, s Store) {
	const messages, workers = 20, 8
	var keys []string
	for i := range messages {
		keys = append(keys, fmt.Sprintf("m%02d", i))
	}
	put(t, s, t0, keys...)
	var mu sync.Mutex
	got := map[string]int{}
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for _, k := range keys {
				_, err := s.Begin(t.Context(), k, t0)
				if err != nil {
					assert.ErrorIs(t, err, store.ErrTaken)
					continue
				}
				mu.Lock()
				got[k]++
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	assert.Len(t, got, messages)
	for k, n := range got {
		assert.Equal(t, 1, n, k)
	}
}

func testTold(t *testing.T, s Store) {
	ctx := t.Context()
	told := func(person string) string {
		b, err := s.LastTold(ctx, "north", person)
		require.NoError(t, err)
		return string(b)
	}
	assert.Empty(t, told("ada"))
	put(t, s, t0, "monday")
	put(t, s, t0.Add(24*time.Hour), "tuesday")
	assert.Equal(t, "told by tuesday", told("ada"), "what is on its way counts")
	assert.Empty(t, told("ben"))
	n, err := s.Begin(ctx, "tuesday", t0.Add(24*time.Hour))
	require.NoError(t, err)
	require.NoError(t, s.Fail(ctx, "tuesday", n, errors.New("550")))
	assert.Equal(t, "told by monday", told("ada"), "what was given up was not told")
	require.NoError(t, s.Prune(ctx, t0.Add(time.Hour)))
	assert.Equal(t, "told by monday", told("ada"), "the last word is kept")
	silent := message("silent", t0.Add(47*time.Hour))
	silent.Told, silent.Channel = nil, "feed"
	require.NoError(t, s.AddMessages(ctx, []store.Message{silent}))
	require.NoError(t, s.Prune(ctx, t0.Add(time.Hour)))
	assert.Equal(t, "told by monday", told("ada"), "a message that tells nothing changes nothing")
	newest, err := s.Newest(ctx, "north", "ada", "feed", 5)
	require.NoError(t, err)
	require.Len(t, newest, 1)
	assert.Equal(t, "silent", newest[0].Key)
	put(t, s, t0.Add(48*time.Hour), "wednesday")
	require.NoError(t, s.Prune(ctx, t0.Add(time.Hour)))
	d, err := s.Delivery(ctx, "monday")
	require.NoError(t, err)
	assert.Empty(t, d.Told)
}

func testPrune(t *testing.T, s Store) {
	ctx := t.Context()
	put(t, s, t0, "done", "open")
	_, err := s.Begin(ctx, "done", t0)
	require.NoError(t, err)
	require.NoError(t, s.Sent(ctx, "done", t0))
	require.NoError(t, s.ClaimSlot(ctx, "job", t0))
	require.NoError(t, s.Prune(ctx, t0.Add(time.Hour)))
	put(t, s, t0, "done") // the same message again
	d, err := s.Delivery(ctx, "done")
	require.NoError(t, err)
	assert.Equal(t, store.Sent, d.State)
	assert.Empty(t, d.Body)
	d, err = s.Delivery(ctx, "open")
	require.NoError(t, err)
	assert.Equal(t, "body of open", string(d.Body), "what is still to send is kept")
	assert.NoError(t, s.ClaimSlot(ctx, "job", t0))
}
