package source

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"strings"
	"time"

	"golang.org/x/time/rate"
)

// Limits that hold where Options leaves them out.
const (
	DefaultTimeout   = 30 * time.Second
	DefaultBodyLimit = 8 << 20
	MaxBodyLimit     = 20 << 20 // no answer of this size or more is ever read whole
	MaxRedirects     = 5
	defaultBase      = 500 * time.Millisecond
	defaultMaxWait   = 20 * time.Second
	defaultFailures  = 5
	defaultCooldown  = 2 * time.Minute
)

// Options make a Client. Only Name and UserAgent are needed.
type Options struct {
	Name      string // of the source, in errors and metrics
	UserAgent string // names the program and how to reach who runs it

	Timeout   time.Duration // of one try, whole body included
	BodyLimit int           // bytes, decompressed
	Retries   int           // tries after the first
	Base      time.Duration // wait before the first retry, doubled after each; spread by half to one and a half
	MaxWait   time.Duration // a longer Retry-After ends the tries instead

	InFlight int        // requests at once; 0 is 1
	Rate     rate.Limit // weight a second; 0 is no limit
	Burst    int        // weight that may go at once under Rate
	Budget   *Budget    // nil is no limit

	Failures uint32        // in a row, that open the breaker
	Cooldown time.Duration // how long it stays open

	// Explain reads the service's own words from a failing answer, and from
	// them how long to stay away where there is no Retry-After. It may be nil,
	// and "" and 0 are unknown.
	Explain func(status int, body []byte) (reason string, wait time.Duration)

	Transport http.RoundTripper // nil is one of its own
	Rand      func() float64    // 0 up to 1, for jitter; nil is the runtime's
	Now       func() time.Time  // nil is time.Now
	Hooks     Hooks
}

// NeedsContact says what is wrong with a User-Agent for services that ask for a
// way to reach who runs the program: an e-mail address or a web page.
func NeedsContact(userAgent string) error {
	if strings.Contains(userAgent, "@") || strings.Contains(userAgent, "://") {
		return nil
	}
	return fmt.Errorf("the User-Agent %q has no contact; the service refuses it: put an e-mail address or a web page in it, as in \"plotwarden/1.0 (you@example.org)\"", userAgent)
}

func (o Options) withDefaults() (Options, error) {
	if o.Name == "" {
		return o, fmt.Errorf("a source without a name")
	}
	ua := strings.TrimSpace(o.UserAgent)
	if ua == "" || strings.ContainsAny(ua, "\r\n") {
		return o, fmt.Errorf("source %s: the User-Agent %q is empty or has line breaks", o.Name, o.UserAgent)
	}
	o.UserAgent = ua
	o.Timeout = or(o.Timeout, DefaultTimeout)
	o.BodyLimit = min(or(o.BodyLimit, DefaultBodyLimit), MaxBodyLimit-1)
	o.Base = or(o.Base, defaultBase)
	o.MaxWait = or(o.MaxWait, defaultMaxWait)
	o.InFlight = or(o.InFlight, 1)
	o.Failures = or(o.Failures, defaultFailures)
	o.Cooldown = or(o.Cooldown, defaultCooldown)
	if o.Rand == nil {
		o.Rand = rand.Float64
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	return o, nil
}

func or[T comparable](v, otherwise T) T {
	var zero T
	if v == zero {
		return otherwise
	}
	return v
}
