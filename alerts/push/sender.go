package push

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"time"

	webpush "github.com/SherClockHolmes/webpush-go"

	"plotwarden/alerts"
	"plotwarden/alerts/delivery"
	"plotwarden/alerts/guard"
	"plotwarden/store"
)

// Subscriptions keeps the browsers of people. One that is not there is
// store.ErrNotFound.
type Subscriptions interface {
	Subscription(ctx context.Context, person, id string) (Subscription, error)
	// Drop forgets a subscription that has ended. Dropping one that is not there
	// is no error.
	Drop(ctx context.Context, person, id string) error
}

// Options say how to send.
type Options struct {
	VAPID         VAPID
	Subscriptions Subscriptions
	Guard         guard.Options
	Now           func() time.Time // how long a note is still good; the clock when nil
}

// Sender sends notes. It may be used from many goroutines.
type Sender struct {
	o    Options
	http *http.Client
}

// keep is how long after its slot a push service keeps a note for a browser that
// is not connected: the next morning's says more. With 0 a service would drop
// what it cannot deliver at once (RFC 8030, section 5.2).
const (
	keep      = 20 * time.Hour
	keepLeast = 10 * time.Minute
)

// maxDetail is how much of an answer that refuses is read and told, bytes.
const maxDetail = 512

// New returns a sender.
func New(o Options) (*Sender, error) {
	if o.Subscriptions == nil {
		return nil, errors.New("push: no subscriptions")
	}
	if err := o.VAPID.check(); err != nil {
		return nil, err
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	return &Sender{o: o, http: guard.HTTPClient(o.Guard)}, nil
}

// PublicKey is what a page hands to the browser as applicationServerKey.
func (s *Sender) PublicKey() string { return s.o.VAPID.Public }

// Close drops idle connections.
func (s *Sender) Close() { s.http.CloseIdleConnections() }

// Send makes one attempt. Every failure is an *alerts.SendError. Nil means that
// the push service has taken the note. A subscription that has ended is dropped.
func (s *Sender) Send(ctx context.Context, d store.Delivery) error {
	m, err := parse(d.Body)
	if err != nil {
		return permanent("push-unreadable", err)
	}
	sub, err := s.o.Subscriptions.Subscription(ctx, d.Person, m.Subscription)
	switch {
	case errors.Is(err, store.ErrNotFound):
		return permanent("push-gone", fmt.Errorf("subscription %s of %s is no longer there", m.Subscription, d.Person))
	case err != nil:
		return &alerts.SendError{Cause: "push-lookup", Down: true, Err: fmt.Errorf("look up subscription %s of %s: %w", m.Subscription, d.Person, err)}
	}
	if err := guard.Check(sub.Endpoint, s.o.Guard.Allow); err != nil {
		return permanent("push-address", fmt.Errorf("subscription %s of %s: %w", m.Subscription, d.Person, err))
	}
	resp, err := s.post(ctx, m, sub, d.Slot)
	if err != nil {
		return err
	}
	defer resp.Body.Close()
	switch resp.StatusCode {
	case http.StatusNotFound, http.StatusGone: // it has ended (RFC 8030, section 7.3)
		err := fmt.Errorf("subscription %s of %s has ended and is dropped", m.Subscription, d.Person)
		if failed := s.o.Subscriptions.Drop(ctx, d.Person, m.Subscription); failed != nil {
			err = fmt.Errorf("subscription %s of %s has ended but could not be dropped: %w", m.Subscription, d.Person, failed)
		}
		return permanent(fmt.Sprintf("push-%d", resp.StatusCode), err)
	}
	detail := ""
	if resp.StatusCode >= 300 {
		b, _ := io.ReadAll(io.LimitReader(resp.Body, maxDetail)) // what came of it is enough
		detail = string(b)
	}
	if failed := delivery.Answer(Channel, resp.StatusCode, resp.Header, detail, s.o.Now()); failed != nil {
		return failed
	}
	return nil
}

// post encrypts and sends. The library's own failures, before anything is sent,
// are permanent: the keys of the subscription cannot be used.
func (s *Sender) post(ctx context.Context, m body, sub Subscription, slot time.Time) (*http.Response, error) {
	note, err := m.Note.encode()
	if err != nil {
		return nil, permanent("push-size", err)
	}
	line := &once{client: s.http}
	resp, err := webpush.SendNotificationWithContext(ctx, note, &webpush.Subscription{
		Endpoint: sub.Endpoint, Keys: webpush.Keys{Auth: sub.Keys.Auth, P256dh: sub.Keys.P256dh},
	}, &webpush.Options{
		HTTPClient: line, Subscriber: s.o.VAPID.Contact, Topic: m.Note.Tag, TTL: s.ttl(slot), Urgency: m.Urgency,
		VAPIDPublicKey: s.o.VAPID.Public, VAPIDPrivateKey: s.o.VAPID.Private,
	})
	switch {
	case err == nil:
		return resp, nil
	case !line.used:
		return nil, permanent("push-keys", fmt.Errorf("encrypt for subscription %s: %w", m.Subscription, guard.Bare(err)))
	}
	return nil, delivery.Failed(ctx, Channel, err)
}

func (s *Sender) ttl(slot time.Time) int {
	return int(max(keepLeast, min(keep, slot.Add(keep).Sub(s.o.Now()))) / time.Second)
}

func permanent(cause string, err error) error {
	return &alerts.SendError{Cause: cause, Permanent: true, Err: err}
}

// once tells whether the library got as far as sending.
type once struct {
	client *http.Client
	used   bool
}

// Do sends.
func (o *once) Do(r *http.Request) (*http.Response, error) {
	o.used = true
	return o.client.Do(r)
}
