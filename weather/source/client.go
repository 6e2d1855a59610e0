package source

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"sync"
	"time"

	"github.com/go-resty/resty/v2"
	"github.com/sony/gobreaker/v2"
	"golang.org/x/time/rate"
)

// Client asks one host. It is safe for concurrent use.
type Client struct {
	o       Options
	http    *resty.Client
	breaker *gobreaker.CircuitBreaker[*Response]
	limiter *rate.Limiter
	slots   chan struct{}

	mu    sync.Mutex
	quiet time.Time // the service asked to be left alone until then
	why   string
}

// Request is one GET.
type Request struct {
	URL    string // without a query
	Query  url.Values
	Header map[string]string // besides User-Agent
	Weight float64           // what it counts in the budget; 0 is 1
	// Reserve is the share of the budget's windows of an hour or more, 0 to 1, that
	// this request leaves to others.
	Reserve float64
	// Check looks at a good answer. Its error fails the request and counts for
	// the breaker: an answer that cannot be used is no better than none.
	Check func(*Response) error
}

// Response is a good answer: a status from 200 to 299, or 304 without a body.
type Response struct {
	Status int
	Header http.Header
	Body   []byte
	At     time.Time // when it had arrived
}

// New returns a client for one host.
func New(o Options) (*Client, error) {
	o, err := o.withDefaults()
	if err != nil {
		return nil, err
	}
	c := &Client{o: o, slots: make(chan struct{}, o.InFlight)}
	if o.Rate > 0 {
		c.limiter = rate.NewLimiter(o.Rate, max(1, o.Burst))
	}
	c.breaker = gobreaker.NewCircuitBreaker[*Response](gobreaker.Settings{
		Name:         o.Name,
		Timeout:      o.Cooldown,
		ReadyToTrip:  func(n gobreaker.Counts) bool { return n.ConsecutiveFailures >= o.Failures },
		IsSuccessful: func(err error) bool { return err == nil || !countsForBreaker(err) },
		IsExcluded:   func(err error) bool { return notTheirFault(CauseOf(err)) },
		OnStateChange: func(_ string, from, to gobreaker.State) {
			if o.Hooks.Breaker != nil {
				o.Hooks.Breaker(o.Name, from.String(), to.String())
			}
		},
	})
	c.http = c.restyClient()
	return c, nil
}

// Name returns the source's name.
func (c *Client) Name() string { return c.o.Name }

// Options returns the options in force, defaults filled in.
func (c *Client) Options() Options { return c.o }

// Get asks once, with tries. Every error is an *Error.
func (c *Client) Get(ctx context.Context, req Request) (*Response, error) {
	if _, err := url.ParseRequestURI(req.URL); err != nil {
		return nil, Errorf(c.o.Name, BadRequest, "the address %q: %w", req.URL, errors.Unwrap(err))
	}
	select {
	case c.slots <- struct{}{}:
		defer func() { <-c.slots }()
	case <-ctx.Done():
		return nil, c.failed(nil, ctx.Err())
	}
	if err := c.mayAsk(); err != nil {
		return nil, err
	}
	resp, err := c.breaker.Execute(func() (*Response, error) { return c.ask(ctx, req) })
	switch {
	case errors.Is(err, gobreaker.ErrOpenState), errors.Is(err, gobreaker.ErrTooManyRequests):
		return nil, Errorf(c.o.Name, BreakerOpen, "%d failures in a row; asking again after %s", c.o.Failures, c.o.Cooldown)
	case err != nil:
		c.keepQuiet(err)
		return nil, err
	}
	return resp, nil
}

// mayAsk fails while the service wants to be left alone.
func (c *Client) mayAsk() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if left := c.quiet.Sub(c.o.Now()); left > 0 {
		return &Error{Source: c.o.Name, Cause: Waiting, RetryAfter: left, Err: errors.New("not asked: it said " + c.why)}
	}
	return nil
}

// keepQuiet remembers how long the service wants to be left alone.
func (c *Client) keepQuiet(err error) {
	var e *Error
	if !errors.As(err, &e) || e.RetryAfter <= 0 || e.Status == 0 {
		return
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if until := c.o.Now().Add(e.RetryAfter); until.After(c.quiet) {
		c.quiet, c.why = until, e.Cause
	}
}

// State returns the breaker's state: "closed", "half-open" or "open".
func (c *Client) State() string { return c.breaker.State().String() }

func (c *Client) ask(ctx context.Context, req Request) (*Response, error) {
	t := &trace{weight: or(req.Weight, 1), reserve: req.Reserve}
	r := c.http.R().SetContext(context.WithValue(ctx, traceKey{}, t)).SetHeaders(req.Header)
	if len(req.Query) > 0 {
		r.SetQueryParamsFromValues(req.Query)
	}
	raw, err := r.Get(req.URL)
	if t.seen < t.sent { // the tries ended before the retry condition was asked
		c.observe(raw, err, t)
	}
	if err := c.failed(raw, err); err != nil {
		if ctx.Err() != nil && err.Cause != BudgetSpent {
			err = c.failed(nil, ctx.Err())
		}
		return nil, err
	}
	resp := &Response{Status: raw.StatusCode(), Header: raw.Header(), Body: raw.Body(), At: c.o.Now()}
	if req.Check != nil {
		if err := req.Check(resp); err != nil {
			return nil, err
		}
	}
	return resp, nil
}

// countsForBreaker says whether a failure speaks against the service, rather
// than against this one request.
func countsForBreaker(err error) bool {
	var e *Error
	if !errors.As(err, &e) {
		return true
	}
	switch e.Status {
	case 400, 404, 410, 422:
		return false
	}
	return e.Cause != NoData && e.Cause != BadRequest
}

func notTheirFault(cause string) bool {
	return cause == Canceled || cause == BudgetSpent || cause == Waiting
}
