package source

import (
	"context"
	"errors"
	"io"
	"math"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/go-resty/resty/v2"
)

type traceKey struct{}

// trace follows one Get through its tries.
type trace struct {
	weight     float64
	reserve    float64
	sent, seen int
	began      time.Time
}

var (
	errLoop      = errors.New("more redirects than allowed")
	errElsewhere = errors.New("redirected to another host or to plain HTTP")
)

type silent struct{}

func (silent) Errorf(string, ...any) {}
func (silent) Warnf(string, ...any)  {}
func (silent) Debugf(string, ...any) {}

func (c *Client) restyClient() *resty.Client {
	transport := c.o.Transport
	if transport == nil {
		t := http.DefaultTransport.(*http.Transport).Clone()
		t.MaxIdleConnsPerHost = c.o.InFlight
		transport = t
	}
	return resty.New().
		SetTransport(transport).
		SetLogger(silent{}). // failures are returned; its own lines would hold keys
		SetHeader("User-Agent", c.o.UserAgent).
		SetTimeout(c.o.Timeout).
		SetResponseBodyLimit(c.o.BodyLimit).
		SetCookieJar(nil).
		SetRedirectPolicy(resty.RedirectPolicyFunc(checkRedirect)).
		SetRetryCount(c.o.Retries).
		SetRetryWaitTime(time.Millisecond). // the wait is reckoned in waitAfter
		SetRetryMaxWaitTime(c.o.MaxWait).
		SetRetryAfter(c.waitAfter).
		AddRetryCondition(c.again).
		OnBeforeRequest(c.beforeTry)
}

// checkRedirect follows redirects on one host only: the query may hold a key.
func checkRedirect(req *http.Request, via []*http.Request) error {
	first := via[0].URL
	switch {
	case len(via) > MaxRedirects:
		return errLoop
	case !strings.EqualFold(req.URL.Host, first.Host), first.Scheme == "https" && req.URL.Scheme != "https":
		return errElsewhere
	}
	return nil
}

// beforeTry waits for the rate limit and takes the weight from the budget, at
// every try: retries count for the service too.
func (c *Client) beforeTry(_ *resty.Client, r *resty.Request) error {
	t := r.Context().Value(traceKey{}).(*trace)
	if c.limiter != nil {
		n := min(max(1, int(math.Ceil(t.weight))), c.limiter.Burst())
		if err := c.limiter.WaitN(r.Context(), n); err != nil {
			return &Error{Source: c.o.Name, Cause: Timeout, Err: err}
		}
	}
	if c.o.Budget != nil {
		now := c.o.Now()
		wait, err := c.o.Budget.TakeLeaving(now, t.weight, t.reserve)
		if err != nil {
			return &Error{Source: c.o.Name, Cause: BudgetSpent, RetryAfter: wait, Err: err}
		}
		if c.o.Hooks.Budget != nil {
			for _, w := range c.o.Budget.windows {
				left, _ := c.o.Budget.Left(now, w.Per)
				c.o.Hooks.Budget(c.o.Name, w.Per, left)
			}
		}
	}
	t.sent++
	t.began = c.o.Now()
	return nil
}

// again is the retry condition; resty asks it after every try.
func (c *Client) again(raw *resty.Response, err error) bool {
	if raw == nil || raw.Request == nil {
		return false
	}
	if t, ok := raw.Request.Context().Value(traceKey{}).(*trace); ok && t.seen < t.sent {
		c.observe(raw, err, t)
	}
	e := c.failed(raw, err)
	if e == nil {
		return false
	}
	switch e.Cause {
	case Refused, Unreachable, Timeout, Truncated, HTMLBody, EmptyBody:
		return true
	}
	return e.Status == 429 || e.Status == 500 || e.Status == 502 || e.Status == 503 || e.Status == 504
}

// waitAfter returns the wait before the next try, or the error that ends them.
func (c *Client) waitAfter(_ *resty.Client, raw *resty.Response) (time.Duration, error) {
	if e := c.failed(raw, nil); e != nil && e.RetryAfter > 0 {
		if e.RetryAfter > c.o.MaxWait {
			return 0, e
		}
		return e.RetryAfter, nil
	}
	wait := float64(c.o.Base) * math.Exp2(float64(raw.Request.Attempt-1)) * (0.5 + c.o.Rand())
	return time.Duration(min(wait, float64(c.o.MaxWait))), nil
}

func (c *Client) observe(raw *resty.Response, err error, t *trace) {
	t.seen = t.sent
	a := Attempt{Try: t.sent, Weight: t.weight, Took: c.o.Now().Sub(t.began)}
	if raw != nil {
		a.Status, a.Bytes = raw.StatusCode(), len(raw.Body())
	}
	if e := c.failed(raw, err); e != nil {
		a.Cause = e.Cause
	}
	c.o.Hooks.attempt(c.o.Name, a)
}

// failed names what went wrong with one try; nil when nothing did.
func (c *Client) failed(raw *resty.Response, err error) *Error {
	status := 0
	if raw != nil && raw.RawResponse != nil {
		status = raw.StatusCode()
	}
	var own *Error
	if errors.As(err, &own) {
		return own
	}
	if err != nil {
		return &Error{Source: c.o.Name, Cause: netCause(err, status), Status: status, Err: withoutURL(err)}
	}
	body := raw.Body()
	switch cause := bodyCause(raw.Header().Get("Content-Type"), body); {
	case status == http.StatusNotModified:
		return nil
	case status >= 400:
		return c.refusal(status, raw.Header().Get("Retry-After"), body)
	case status < 200 || status > 299:
		return &Error{Source: c.o.Name, Cause: HTTPCause(status), Status: status, Err: errors.New("a status that is no answer")}
	case cause != "":
		return &Error{Source: c.o.Name, Cause: cause, Status: status, Err: errors.New(excerpt(body))}
	}
	return nil
}

// refusal is the error of a failing status. Retry-After, in seconds or as a
// date, goes before the wait that the service's words tell.
func (c *Client) refusal(status int, after string, body []byte) *Error {
	const most = 7 * 24 * time.Hour
	e := &Error{Source: c.o.Name, Cause: HTTPCause(status), Status: status}
	var reason string
	if c.o.Explain != nil {
		reason, e.RetryAfter = c.o.Explain(status, body)
	}
	if s, err := strconv.Atoi(strings.TrimSpace(after)); err == nil && s >= 0 {
		e.RetryAfter = min(time.Duration(min(s, 1<<30))*time.Second, most)
	} else if at, err := http.ParseTime(after); err == nil {
		e.RetryAfter = max(0, min(at.Sub(c.o.Now()), most))
	}
	if e.Err = errors.New(reason); reason == "" {
		e.Err = errors.New(excerpt(body))
	}
	return e
}

// netCause names a failure below HTTP; status is not 0 when it came after the
// answer had begun.
func netCause(err error, status int) string {
	var timeout net.Error
	switch {
	case errors.Is(err, resty.ErrResponseBodyTooLarge):
		return TooLarge
	case errors.Is(err, errLoop):
		return RedirectLoop
	case errors.Is(err, errElsewhere):
		return RedirectElsewhere
	case errors.Is(err, context.Canceled):
		return Canceled
	case errors.Is(err, context.DeadlineExceeded), errors.As(err, &timeout) && timeout.Timeout():
		return Timeout
	case errors.Is(err, io.ErrUnexpectedEOF), status != 0:
		return Truncated
	case errors.Is(err, syscall.ECONNREFUSED):
		return Refused
	}
	return Unreachable
}

// withoutURL drops the address from net/http's errors: its query may hold a key.
func withoutURL(err error) error {
	var u *url.Error
	if errors.As(err, &u) {
		return u.Err
	}
	return err
}
