// Package outbox works through the messages that a round left in the store: it
// takes each for one attempt, hands it to its channel, and records what became
// of it before and after, so that a restart neither loses nor repeats one. What
// was under way when the process died is tried again under the same Message-ID
// once its lease has run out.
package outbox

import (
	"context"
	"errors"
	"fmt"
	"time"

	"plotwarden/alerts"
	"plotwarden/alerts/delivery"
	"plotwarden/store"
)

// Store is what the worker needs of the store.
type Store interface {
	Due(ctx context.Context, now time.Time, limit int) ([]store.Delivery, error)
	Begin(ctx context.Context, key string, now time.Time) (attempt int, err error)
	Sent(ctx context.Context, key string, now time.Time) error
	Retry(ctx context.Context, key string, attempt int, next time.Time, cause error) error
	Fail(ctx context.Context, key string, attempt int, cause error) error
}

// Sender is a channel. Its failures are *alerts.SendError; any other error
// counts as temporary. An attempt must end well within store.Lease.
type Sender interface {
	Send(ctx context.Context, d store.Delivery) error
}

// Hooks are called for metrics and log; any may be nil.
type Hooks struct {
	Sent    func(d store.Delivery)
	Retried func(d store.Delivery, next time.Time, cause error)
	Failed  func(d store.Delivery, cause error)
}

// GiveUpAfter is how long after its slot a message is no longer worth sending:
// the next morning's says more.
const GiveUpAfter = 20 * time.Hour

// recordTime is how long the outcome of an attempt may take to be recorded
// after the worker was told to stop.
const recordTime = 10 * time.Second

// Worker delivers what is due. Any number may share a store.
type Worker struct {
	Store   Store
	Senders map[string]Sender // by channel
	Hooks   Hooks
	Batch   int // messages looked up at once; 0 is 100
}

// Deliver makes one pass over what is due at now: each message at most once. A
// channel that is down as a whole is tried once a pass; its other messages stay
// due, so that they go out as soon as it is back. It returns failures of the
// store; those of channels are recorded with the message. When ctx ends, what is
// left stays due.
func (w *Worker) Deliver(ctx context.Context, now time.Time) error {
	p := pass{Worker: w, now: now, began: time.Now(), down: map[string]bool{}, tried: map[string]bool{}}
	batch := w.Batch
	if batch <= 0 {
		batch = 100
	}
	for {
		// What the pass has tried or leaves alone may still be due; ask past it.
		due, err := w.Store.Due(ctx, p.at(), batch+len(p.tried))
		if ctx.Err() != nil {
			return nil
		}
		if err != nil {
			return fmt.Errorf("look for due messages: %w", err)
		}
		progress := false
		for _, d := range due {
			if p.tried[d.Key] {
				continue
			}
			p.tried[d.Key], progress = true, true
			if p.down[d.Channel] {
				continue
			}
			if ctx.Err() != nil {
				return nil
			}
			if err := p.one(ctx, d); err != nil {
				return err
			}
		}
		if !progress {
			return nil
		}
	}
}

// pass is one pass of a worker.
type pass struct {
	*Worker
	now, began  time.Time
	down, tried map[string]bool
}

// at is the time of day. A pass can take long where a server is slow; a lease
// that counted from its start could have run out when the attempt begins.
func (p *pass) at() time.Time { return p.now.Add(time.Since(p.began)) }

// one makes one attempt of one message and records how it went.
func (p *pass) one(ctx context.Context, d store.Delivery) error {
	attempt, err := p.Store.Begin(ctx, d.Key, p.at())
	if errors.Is(err, store.ErrTaken) || errors.Is(err, store.ErrNotFound) || ctx.Err() != nil {
		return nil // another worker has it, or it is time to stop
	}
	if err != nil {
		return fmt.Errorf("begin %s: %w", d.Key, err)
	}
	d.Attempts = attempt
	sendErr := p.send(ctx, d)
	// How the attempt ended must be known, also while stopping.
	record, cancel := context.WithTimeout(context.WithoutCancel(ctx), recordTime)
	defer cancel()
	if sendErr == nil {
		if err := p.Store.Sent(record, d.Key, p.at()); err != nil {
			return fmt.Errorf("record %s as sent: %w", d.Key, err)
		}
		if p.Hooks.Sent != nil {
			p.Hooks.Sent(d)
		}
		return nil
	}
	var se *alerts.SendError
	permanent := false
	if errors.As(sendErr, &se) {
		p.down[d.Channel] = p.down[d.Channel] || se.Down
		permanent = se.Permanent
	}
	switch {
	case ctx.Err() != nil: // stopped from here: due again at once
		return p.retry(record, d, p.at(), sendErr)
	case permanent:
		return p.fail(record, d, sendErr)
	}
	wait := Backoff(d.Key, attempt)
	if asked, ok := delivery.RetryAfter(sendErr); ok {
		wait = max(wait, asked) // a provider's limit is kept
	}
	return p.retry(record, d, p.at().Add(wait), sendErr)
}

func (p *pass) send(ctx context.Context, d store.Delivery) error {
	s, ok := p.Senders[d.Channel]
	switch {
	case p.at().Sub(d.Slot) > GiveUpAfter:
		return &alerts.SendError{Cause: "too-late", Permanent: true, Err: tooLate(d)}
	case !ok:
		return &alerts.SendError{Cause: "no-channel", Down: true, Err: fmt.Errorf("no channel %q is configured", d.Channel)}
	}
	return s.Send(ctx, d)
}

func tooLate(d store.Delivery) error {
	if d.LastErr == "" {
		return errors.New("its day is over")
	}
	return fmt.Errorf("its day is over; the attempt before failed: %s", d.LastErr)
}

// retry and fail let pass that another worker took the message over while this
// attempt hung: it now answers for it.
func (p *pass) retry(ctx context.Context, d store.Delivery, next time.Time, cause error) error {
	if err := p.Store.Retry(ctx, d.Key, d.Attempts, next, cause); err != nil && !errors.Is(err, store.ErrTaken) {
		return fmt.Errorf("record the failed attempt of %s: %w", d.Key, err)
	}
	if p.Hooks.Retried != nil {
		p.Hooks.Retried(d, next, cause)
	}
	return nil
}

func (p *pass) fail(ctx context.Context, d store.Delivery, cause error) error {
	if err := p.Store.Fail(ctx, d.Key, d.Attempts, cause); err != nil && !errors.Is(err, store.ErrTaken) {
		return fmt.Errorf("give up %s: %w", d.Key, err)
	}
	if p.Hooks.Failed != nil {
		p.Hooks.Failed(d, cause)
	}
	return nil
}
