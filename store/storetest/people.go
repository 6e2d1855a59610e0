package storetest

import (
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/store"
)

func testChoices(t *testing.T, s Store) {
	ctx := t.Context()
	done := store.Choice{Person: "ada", Site: "north", Kind: store.ChoseDone, Planting: "tom", Threat: "some-threat", At: t0, Seen: []byte("seen")}
	mute := store.Choice{Person: "ada", Site: "north", Kind: store.ChoseMute, Threat: "some-threat", At: t0, Until: civil.New(2026, 6, 30)}
	stop := store.Choice{Person: "ben", Site: "north", Kind: store.ChoseStop, Channel: "email", At: t0}
	for _, c := range []store.Choice{stop, mute, done, done} {
		require.NoError(t, s.Choose(ctx, c))
	}
	got, err := s.Choices(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, []store.Choice{done, mute, stop}, got)
	mute.Until, mute.At = mute.Until.AddDays(7), t0.Add(time.Hour)
	require.NoError(t, s.Choose(ctx, mute))
	require.NoError(t, s.TakeBack(ctx, done))
	require.NoError(t, s.TakeBack(ctx, done), "twice is no error")
	got, err = s.Choices(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, []store.Choice{mute, stop}, got, "the later choice stands")
	got, err = s.Choices(ctx, "south")
	require.NoError(t, err)
	assert.Empty(t, got)
	assert.ErrorContains(t, s.Choose(ctx, store.Choice{Site: "north", Kind: store.ChoseDone}), "needs a person")
}

func testSubscriptions(t *testing.T, s Store) {
	ctx := t.Context()
	phone := store.Subscription{Person: "ada", ID: "b", Body: []byte(`{"x":1}`), Added: t0}
	desk := store.Subscription{Person: "ada", ID: "a", Body: []byte(`{"x":2}`), Added: t0}
	other := store.Subscription{Person: "ben", ID: "b", Body: []byte(`{"x":3}`), Added: t0}
	for _, x := range []store.Subscription{phone, desk, other, phone} {
		require.NoError(t, s.Subscribe(ctx, x))
	}
	got, err := s.Subscriptions(ctx, "ada")
	require.NoError(t, err)
	assert.Equal(t, []store.Subscription{desk, phone}, got)
	require.NoError(t, s.Unsubscribe(ctx, "ada", "b"))
	require.NoError(t, s.Unsubscribe(ctx, "ada", "b"), "twice is no error")
	got, err = s.Subscriptions(ctx, "")
	require.NoError(t, err)
	assert.Equal(t, []store.Subscription{desk, other}, got, "that of another person stays")
	assert.ErrorContains(t, s.Subscribe(ctx, store.Subscription{Person: "ada"}), "needs")
}

func testKept(t *testing.T, s Store) {
	ctx := t.Context()
	_, err := s.Kept(ctx, "x")
	assert.ErrorIs(t, err, store.ErrNotFound)
	require.NoError(t, s.Keep(ctx, "x", []byte("one")))
	require.NoError(t, s.Keep(ctx, "x", []byte("two")))
	got, err := s.Kept(ctx, "x")
	require.NoError(t, err)
	assert.Equal(t, "two", string(got))

	// Of many that start at once, all go on with the same secret.
	var mu sync.Mutex
	seen := map[string]bool{}
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			b, err := s.KeepFirst(ctx, "secret", fmt.Appendf(nil, "secret %d", i))
			assert.NoError(t, err)
			mu.Lock()
			seen[string(b)] = true
			mu.Unlock()
		})
	}
	wg.Wait()
	assert.Len(t, seen, 1)
}

func testAddMessages(t *testing.T, s Store) {
	ctx := t.Context()
	require.NoError(t, s.AddMessages(ctx, nil))
	require.NoError(t, s.AddMessages(ctx, []store.Message{message("a", t0), message("b", t0)}))
	again := message("a", t0)
	again.Body = []byte("other")
	require.NoError(t, s.AddMessages(ctx, []store.Message{again}))
	d, err := s.Delivery(ctx, "a")
	require.NoError(t, err)
	assert.Equal(t, "body of a", string(d.Body), "the first stays")
	assert.Error(t, s.AddMessages(ctx, []store.Message{message("c", t0), {}}), "one without a key")
	_, err = s.Delivery(ctx, "c")
	assert.ErrorIs(t, err, store.ErrNotFound, "all or none")
}
