package outbox

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/alerts"
	"plotwarden/alerts/delivery"
	"plotwarden/alerts/email"
	"plotwarden/store"
	"plotwarden/store/sqlite"
)

var t0 = time.Date(2026, 6, 4, 10, 0, 0, 0, time.UTC)

func open(t *testing.T, path string) *sqlite.Store {
	s, err := sqlite.Open(t.Context(), path)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, s.Close()) })
	return s
}

// fill puts n messages for one slot into a new store.
func fill(t *testing.T, n int) *sqlite.Store {
	s := open(t, filepath.Join(t.TempDir(), "plot.db"))
	put(t, s, n)
	return s
}

func put(t *testing.T, s *sqlite.Store, n int) {
	r := store.Round{Site: "north", At: t0}
	for i := range n {
		key := fmt.Sprintf("m%03d", i)
		body, err := json.Marshal(email.Mail{ID: key + "@ground.example", To: "ada@ground.example", Subject: key, Date: t0, Text: key, HTML: key})
		require.NoError(t, err)
		r.Messages = append(r.Messages, store.Message{Key: key, Person: "ada", Channel: "email", Site: "north", Slot: t0, Body: body})
	}
	require.NoError(t, s.SaveRound(t.Context(), r))
}

// script answers the attempts of every message in turn; the last answer stays.
type script struct {
	mu      sync.Mutex
	answers []error
	seen    map[string]int
	order   []string
}

func (s *script) Send(_ context.Context, d store.Delivery) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.seen == nil {
		s.seen = map[string]int{}
	}
	n := s.seen[d.Key]
	s.seen[d.Key]++
	s.order = append(s.order, d.Key)
	if n >= len(s.answers) {
		n = len(s.answers) - 1
	}
	return s.answers[n]
}

// tally counts what the hooks were told.
type tally struct {
	Sent, Retried, Failed int
	Next                  []time.Time
}

// onePass makes one pass and returns what it did.
func onePass(t *testing.T, s Store, sender Sender, now time.Time) tally {
	t.Helper()
	got, err := tryPass(t.Context(), s, sender, now)
	require.NoError(t, err)
	return got
}

func tryPass(ctx context.Context, s Store, sender Sender, now time.Time) (tally, error) {
	var got tally
	w := Worker{Store: s, Batch: batch, Senders: map[string]Sender{"email": sender}, Hooks: Hooks{
		Sent:    func(store.Delivery) { got.Sent++ },
		Retried: func(_ store.Delivery, next time.Time, _ error) { got.Retried++; got.Next = append(got.Next, next) },
		Failed:  func(store.Delivery, error) { got.Failed++ },
	}}
	return got, w.Deliver(ctx, now)
}

const batch = 50

func state(t *testing.T, s *sqlite.Store, key string) store.Delivery {
	d, err := s.Delivery(t.Context(), key)
	require.NoError(t, err)
	return d
}

func TestEveryDueMessageIsSentOnce(t *testing.T) {
	s := fill(t, 3*batch+1)
	sender := &script{answers: []error{nil}}
	assert.Equal(t, tally{Sent: 3*batch + 1}, onePass(t, s, sender, t0))
	assert.Equal(t, tally{}, onePass(t, s, sender, t0))
	for key, n := range sender.seen {
		assert.Equal(t, 1, n, key)
	}
	assert.Equal(t, tally{}, onePass(t, fill(t, 3), sender, t0.Add(-time.Second)), "not before its slot")
}

func TestTemporaryFailuresWaitLongerAndLonger(t *testing.T) {
	s := fill(t, 1)
	now := t0
	temporary := &alerts.SendError{Cause: "smtp-451", Err: errors.New("later")}
	sender := &script{answers: []error{temporary, errors.New("some other error"), temporary, nil}}
	for i := range 3 {
		got := onePass(t, s, sender, now)
		require.Equal(t, 1, got.Retried, i)
		wait := got.Next[0].Sub(now)
		least := time.Minute << i
		assert.GreaterOrEqual(t, wait, least)
		assert.Less(t, wait, least+least/5+30*time.Second, "the rest is what the pass took")
		assert.Equal(t, tally{}, onePass(t, s, sender, now.Add(least/2)), "not before its time")
		now = got.Next[0].Add(time.Millisecond)
	}
	assert.Equal(t, 1, onePass(t, s, sender, now).Sent)
	assert.Equal(t, 4, state(t, s, "m000").Attempts)
}

// A provider that asks for time gets it (RFC 9110, section 10.2.3).
func TestAProvidersLimitIsKept(t *testing.T) {
	s := fill(t, 1)
	busy := delivery.Answer("push", http.StatusTooManyRequests, http.Header{"Retry-After": {"7200"}}, "", t0)
	got := onePass(t, s, &script{answers: []error{busy}}, t0)
	require.Len(t, got.Next, 1)
	assert.GreaterOrEqual(t, got.Next[0].Sub(t0), 2*time.Hour)
}

func TestPermanentFailureIsGivenUpAtOnce(t *testing.T) {
	s := fill(t, 2)
	sender := &script{answers: []error{&alerts.SendError{Cause: "smtp-550", Permanent: true, Err: errors.New("no such user")}}}
	assert.Equal(t, tally{Failed: 2}, onePass(t, s, sender, t0), "one bad address does not keep the others waiting")
	d := state(t, s, "m001")
	assert.Equal(t, store.Failed, d.State)
	assert.Contains(t, d.LastErr, "no such user")
}

func TestAChannelThatIsDownIsTriedOnceAPass(t *testing.T) {
	s := fill(t, 120)
	sender := &script{answers: []error{&alerts.SendError{Cause: "smtp-refused", Down: true, Err: errors.New("connection refused")}}}
	assert.Equal(t, 1, onePass(t, s, sender, t0).Retried)
	assert.Len(t, sender.order, 1)
	stats, err := s.OutboxStats(t.Context())
	require.NoError(t, err)
	assert.Equal(t, 120, stats.Pending, "nothing is lost")
	assert.Zero(t, state(t, s, "m119").Attempts, "the others wait untouched")
	assert.Equal(t, 120, onePass(t, s, &script{answers: []error{nil}}, t0.Add(5*time.Minute)).Sent)
}

func TestAnUnknownChannelDoesNotStopTheOthers(t *testing.T) {
	s := fill(t, 2*batch)
	r := store.Round{Site: "north", At: t0}
	for i := range 2 * batch { // before the others in order
		r.Messages = append(r.Messages, store.Message{Key: fmt.Sprint("a", i), Channel: "pigeon", Slot: t0})
	}
	require.NoError(t, s.SaveRound(t.Context(), r))
	got := onePass(t, s, &script{answers: []error{nil}}, t0)
	assert.Equal(t, []int{2 * batch, 1}, []int{got.Sent, got.Retried})
	assert.Contains(t, state(t, s, "a0").LastErr, "no channel")
}

func TestAMessageWhoseDayIsOverIsNotSent(t *testing.T) {
	s := fill(t, 1)
	sender := &script{answers: []error{errors.New("451 busy"), nil}}
	require.Equal(t, 1, onePass(t, s, sender, t0).Retried)
	assert.Equal(t, tally{Failed: 1}, onePass(t, s, sender, t0.Add(GiveUpAfter+time.Minute)))
	assert.Len(t, sender.order, 1)
	assert.Contains(t, state(t, s, "m000").LastErr, "its day is over; the attempt before failed: 451 busy")
}

func TestStoppingRecordsTheAttempt(t *testing.T) {
	s := fill(t, 3)
	ctx, stop := context.WithCancel(t.Context())
	_, err := tryPass(ctx, s, senderFunc(func(ctx context.Context, _ store.Delivery) error {
		stop()
		<-ctx.Done()
		return &alerts.SendError{Cause: "smtp-stopped", Down: true, Err: ctx.Err()}
	}), t0)
	assert.NoError(t, err)
	d := state(t, s, "m000")
	assert.Equal(t, []any{store.Pending, 1}, []any{d.State, d.Attempts})
	assert.Less(t, d.NextAt.Sub(t0), 30*time.Second, "due again at once")
	assert.Zero(t, state(t, s, "m001").Attempts)
}

type senderFunc func(context.Context, store.Delivery) error

func (f senderFunc) Send(ctx context.Context, d store.Delivery) error { return f(ctx, d) }

func TestManyWorkersSendEachMessageOnce(t *testing.T) {
	s := fill(t, 80)
	ctx := t.Context()
	var sent atomic.Int64
	seen := sync.Map{}
	sender := senderFunc(func(_ context.Context, d store.Delivery) error {
		if _, again := seen.LoadOrStore(d.Key, true); again {
			assert.Fail(t, "sent twice", d.Key)
		}
		sent.Add(1)
		return nil
	})
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			_, err := tryPass(ctx, s, sender, t0)
			assert.NoError(t, err)
		})
	}
	wg.Wait()
	assert.EqualValues(t, 80, sent.Load())
}

func TestAnAttemptThatHungIsTakenOver(t *testing.T) {
	s := fill(t, 1)
	slow := senderFunc(func(context.Context, store.Delivery) error {
		// It hangs past its lease, and another takes over.
		_, err := s.Begin(t.Context(), "m000", t0.Add(store.Lease+time.Minute))
		assert.NoError(t, err)
		return errors.New("broken at last")
	})
	_, err := tryPass(t.Context(), s, slow, t0)
	require.NoError(t, err)
	assert.Equal(t, store.Sending, state(t, s, "m000").State, "the second attempt answers for it")
}

// aged says that what it is asked at has moved on with the pass.
type aged struct {
	Store
	begun []time.Time
}

func (a *aged) Begin(ctx context.Context, key string, now time.Time) (int, error) {
	a.begun = append(a.begun, now)
	return a.Store.Begin(ctx, key, now)
}

func TestALeaseCountsFromTheAttemptAndNotFromThePass(t *testing.T) {
	s := &aged{Store: fill(t, 2)}
	slow := senderFunc(func(context.Context, store.Delivery) error {
		time.Sleep(20 * time.Millisecond)
		return nil
	})
	_, err := tryPass(t.Context(), s, slow, t0)
	require.NoError(t, err)
	require.Len(t, s.begun, 2)
	assert.GreaterOrEqual(t, s.begun[1].Sub(s.begun[0]), 20*time.Millisecond)
}

type brokenStore struct{ Store }

func (brokenStore) Sent(context.Context, string, time.Time) error { return errors.New("disk full") }

func TestAStoreThatFailsEndsThePass(t *testing.T) {
	sender := &script{answers: []error{nil}}
	_, err := tryPass(t.Context(), brokenStore{fill(t, 5)}, sender, t0)
	assert.ErrorContains(t, err, "disk full")
	assert.Len(t, sender.order, 1, "no more mails whose sending cannot be recorded")
}

func TestBackoffGrowsToAnHour(t *testing.T) {
	for n := 1; n < 40; n++ {
		wait := Backoff("k", n)
		least := min(time.Hour, time.Minute<<min(n-1, 6))
		assert.GreaterOrEqual(t, wait, least)
		assert.LessOrEqual(t, wait, least+least/5)
	}
	assert.NotEqual(t, Backoff("a", 3), Backoff("b", 3))
}
