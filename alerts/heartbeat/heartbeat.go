// Package heartbeat tells an outside watchdog that the service is alive: it asks
// for the operator's address after each good round. The watchdog raises the alarm
// when it hears nothing, also where the machine itself is gone.
package heartbeat

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"sync"
	"time"

	"github.com/go-resty/resty/v2"

	"plotwarden/alerts"
	"plotwarden/alerts/delivery"
)

// Options say whom to tell.
type Options struct {
	// URL is the operator's own choice and may lie in a private network. It is a
	// secret: whoever knows it can feign life.
	URL       string
	Timeout   time.Duration // of one try; 10 s when 0
	Tries     int           // 3 when 0
	Wait      time.Duration // between tries, doubled each time; 2 s when 0
	UserAgent string        // "plotwarden" when empty
	Now       func() time.Time
}

// Stats counts the rounds told of.
type Stats struct {
	Sent, Failed int
	InARow       int       // failures since the last that was heard
	LastGood     time.Time // zero: never
	LastCause    string    // of the last failure, for metrics; empty after a good one
}

// Beat tells the watchdog. It may be used from many goroutines.
type Beat struct {
	o    Options
	raw  *http.Client
	http *resty.Client

	mu    sync.Mutex
	stats Stats
}

// New checks the options. It asks for nothing.
func New(o Options) (*Beat, error) {
	u, err := url.Parse(o.URL)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" {
		return nil, errors.New("the heartbeat address cannot be read; write https://host/path") // without it: it is a secret
	}
	if o.Timeout <= 0 {
		o.Timeout = 10 * time.Second
	}
	if o.Tries <= 0 {
		o.Tries = 3
	}
	if o.Wait <= 0 {
		o.Wait = 2 * time.Second
	}
	if o.UserAgent == "" {
		o.UserAgent = "plotwarden"
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	b := &Beat{o: o, raw: &http.Client{Timeout: o.Timeout, Transport: &http.Transport{
		Proxy: http.ProxyFromEnvironment, ForceAttemptHTTP2: true, MaxResponseHeaderBytes: 32 << 10, IdleConnTimeout: 30 * time.Second,
	}}}
	b.http = resty.NewWithClient(b.raw).
		SetLogger(silent{}). // its own prints the address
		SetDoNotParseResponse(true).
		SetHeader("User-Agent", o.UserAgent).
		SetRedirectPolicy(resty.FlexibleRedirectPolicy(3))
	return b, nil
}

// Good tells the watchdog of a good round. Its error, an *alerts.SendError, is
// for the log: a watchdog that is not reached is no reason to stop anything.
func (b *Beat) Good(ctx context.Context) error {
	err := b.tries(ctx)
	b.mu.Lock()
	defer b.mu.Unlock()
	if err == nil {
		b.stats.Sent++
		b.stats.InARow, b.stats.LastCause, b.stats.LastGood = 0, "", b.o.Now()
		return nil
	}
	b.stats.Failed++
	b.stats.InARow++
	b.stats.LastCause = err.Cause
	return err
}

// Stats returns the counts so far.
func (b *Beat) Stats() Stats {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.stats
}

// Close drops idle connections.
func (b *Beat) Close() { b.raw.CloseIdleConnections() }

// tries asks until it is heard, with growing pauses. The client's own retries
// would not tell the cause of the last one when the context ends.
func (b *Beat) tries(ctx context.Context) *alerts.SendError {
	wait := b.o.Wait
	for try := 1; ; try++ {
		err := b.ask(ctx)
		if err == nil || err.Permanent || try == b.o.Tries || ctx.Err() != nil {
			return err
		}
		pause := time.NewTimer(wait)
		select {
		case <-pause.C:
		case <-ctx.Done():
			pause.Stop()
			return err
		}
		wait *= 2
	}
}

const channel = "heartbeat"

func (b *Beat) ask(ctx context.Context) *alerts.SendError {
	resp, err := b.http.R().SetContext(ctx).Get(b.o.URL)
	if resp != nil && resp.RawResponse != nil && resp.RawResponse.Body != nil {
		defer resp.RawResponse.Body.Close()
	}
	if err != nil {
		return delivery.Failed(ctx, channel, err)
	}
	_, _ = io.CopyN(io.Discard, resp.RawBody(), 4<<10) // so that the connection can be used again
	failed := delivery.Answer(channel, resp.StatusCode(), resp.Header(), "", b.o.Now())
	if failed != nil {
		failed.Err = fmt.Errorf("watchdog: %w", failed.Err)
	}
	return failed
}

// silent drops what the library would print.
type silent struct{}

func (silent) Errorf(string, ...any) {}
func (silent) Warnf(string, ...any)  {}
func (silent) Debugf(string, ...any) {}
