package webhook

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"time"

	"github.com/go-resty/resty/v2"

	"plotwarden/alerts"
	"plotwarden/alerts/delivery"
	"plotwarden/alerts/guard"
	"plotwarden/store"
)

// Target is where a digest goes.
type Target struct {
	URL     string
	Secrets []Secret // at least one; the newest first
}

// Targets finds a person's targets. What is no longer there is
// store.ErrNotFound.
type Targets interface {
	Target(ctx context.Context, person, id string) (Target, error)
}

// Options say how to send.
type Options struct {
	Targets   Targets
	Guard     guard.Options
	UserAgent string           // "plotwarden" when empty
	Now       func() time.Time // of the timestamp that is signed; the clock when nil
}

// Sender posts digests. It may be used from many goroutines.
type Sender struct {
	o    Options
	raw  *http.Client
	http *resty.Client
}

// maxDetail is how much of an answer that refuses is read and told, bytes. An
// answer that accepts is not read at all.
const maxDetail = 512

// New returns a sender.
func New(o Options) (*Sender, error) {
	if o.Targets == nil {
		return nil, errors.New("webhook: no targets")
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.UserAgent == "" {
		o.UserAgent = "plotwarden"
	}
	raw := guard.HTTPClient(o.Guard)
	client := resty.NewWithClient(raw).
		SetLogger(silent{}). // its own prints addresses, which are secrets
		SetDoNotParseResponse(true).
		SetHeader("User-Agent", o.UserAgent).
		SetHeader("Content-Type", "application/json").
		SetHeader("Accept", "application/json, text/plain;q=0.5")
	return &Sender{o: o, raw: raw, http: client}, nil
}

// Close drops idle connections.
func (s *Sender) Close() { s.raw.CloseIdleConnections() }

// Send makes one attempt. Every failure is an *alerts.SendError. Nil means that
// the target has taken the message. The outbox tries again: nothing does here.
func (s *Sender) Send(ctx context.Context, d store.Delivery) error {
	m, err := parse(d.Body)
	if err != nil {
		return &alerts.SendError{Cause: "webhook-unreadable", Permanent: true, Err: err}
	}
	target, err := s.o.Targets.Target(ctx, d.Person, m.Target)
	switch {
	case errors.Is(err, store.ErrNotFound):
		return &alerts.SendError{Cause: "webhook-gone", Permanent: true, Err: fmt.Errorf("target %q of %s is no longer there", m.Target, d.Person)}
	case err != nil:
		return &alerts.SendError{Cause: "webhook-lookup", Down: true, Err: fmt.Errorf("look up target %q of %s: %w", m.Target, d.Person, err)}
	case len(target.Secrets) == 0:
		return &alerts.SendError{Cause: "webhook-secret", Permanent: true, Err: fmt.Errorf("target %q of %s has no secret to sign with", m.Target, d.Person)}
	}
	if err := guard.Check(target.URL, s.o.Guard.Allow); err != nil {
		return &alerts.SendError{Cause: "webhook-address", Permanent: true, Err: fmt.Errorf("target %q of %s: %w", m.Target, d.Person, err)}
	}
	now := s.o.Now()
	resp, err := s.http.R().SetContext(ctx).
		SetHeader(HeaderID, m.ID).
		SetHeader(HeaderTimestamp, strconv.FormatInt(now.Unix(), 10)).
		SetHeader(HeaderSignature, Sign(target.Secrets, m.ID, now, m.Payload)).
		SetBody([]byte(m.Payload)).
		Post(target.URL)
	if err != nil {
		closeBody(resp)
		return delivery.Failed(ctx, Channel, err)
	}
	defer closeBody(resp)
	detail := ""
	if resp.StatusCode() >= 300 {
		b, _ := io.ReadAll(io.LimitReader(resp.RawBody(), maxDetail)) // what came of it is enough
		detail = string(b)
	}
	if failed := delivery.Answer(Channel, resp.StatusCode(), resp.Header(), detail, now); failed != nil {
		return failed
	}
	return nil
}

func closeBody(r *resty.Response) {
	if r != nil && r.RawResponse != nil && r.RawResponse.Body != nil {
		_ = r.RawResponse.Body.Close() // nothing more is wanted of it
	}
}

// silent drops what the library would print.
type silent struct{}

func (silent) Errorf(string, ...any) {}
func (silent) Warnf(string, ...any)  {}
func (silent) Debugf(string, ...any) {}
