package source

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/time/rate"
)

// answers serves one handler a request, the last one again and again.
func answers(t *testing.T, hs ...http.HandlerFunc) (string, *atomic.Int32) {
	t.Helper()
	var n atomic.Int32
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		i := int(n.Add(1)) - 1
		hs[min(i, len(hs)-1)](w, r)
	}))
	t.Cleanup(srv.Close)
	return srv.URL, &n
}

func body(status int, contentType, s string) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", contentType)
		w.WriteHeader(status)
		_, _ = w.Write([]byte(s))
	}
}

func client(t *testing.T, change func(*Options)) *Client {
	t.Helper()
	o := Options{Name: "test", UserAgent: "plotwarden/test (tests@example.org)", Timeout: 2 * time.Second, Base: time.Millisecond, Rand: func() float64 { return 0.5 }}
	if change != nil {
		change(&o)
	}
	c, err := New(o)
	require.NoError(t, err)
	return c
}

func TestEachFailureHasItsCause(t *testing.T) {
	for name, tc := range map[string]struct {
		h     http.HandlerFunc
		cause string
	}{
		"web page with 200":     {body(200, "text/html", "<html>down for maintenance</html>"), HTMLBody},
		"web page called JSON":  {body(200, "application/json", "  <!doctype html>"), HTMLBody},
		"empty":                 {body(200, "application/json", " \n"), EmptyBody},
		"bad request":           {body(400, "application/json", `{"error":true}`), "http-400"},
		"not found page":        {body(404, "text/html", "<h1>no</h1>"), "http-404"},
		"unavailable":           {body(503, "application/json", `{}`), "http-503"},
		"larger than the limit": {body(200, "application/json", strings.Repeat("1", 2000)), TooLarge},
		"a status of no use":    {body(304+2, "application/json", "{}"), "http-306"},
		"elsewhere": {func(w http.ResponseWriter, r *http.Request) {
			http.Redirect(w, r, "http://localhost:1/", http.StatusFound)
		}, RedirectElsewhere},
		"round and round": {func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, r.URL.Path, http.StatusFound) }, RedirectLoop},
		"half of what was said": {func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Length", "100")
			_, _ = w.Write([]byte("{"))
		}, Truncated},
		"nothing within the time": {func(_ http.ResponseWriter, r *http.Request) { <-r.Context().Done() }, Timeout},
	} {
		t.Run(name, func(t *testing.T) {
			at, _ := answers(t, tc.h)
			c := client(t, func(o *Options) { o.BodyLimit = 1000; o.Timeout = 300 * time.Millisecond })
			_, err := c.Get(context.Background(), Request{URL: at + "/x", Query: url.Values{"apikey": {"hush"}}})
			require.Error(t, err)
			assert.Equal(t, tc.cause, CauseOf(err), err)
			assert.NotContains(t, err.Error(), "hush")
			assert.Contains(t, err.Error(), "test: "+tc.cause)
		})
	}
}

func TestRefusedAndCanceled(t *testing.T) {
	srv := httptest.NewServer(http.NotFoundHandler())
	srv.Close()
	_, err := client(t, nil).Get(context.Background(), Request{URL: srv.URL, Query: url.Values{"apikey": {"hush"}}})
	assert.Equal(t, Refused, CauseOf(err), err)
	assert.NotContains(t, err.Error(), "hush")

	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = client(t, nil).Get(ctx, Request{URL: srv.URL})
	assert.Equal(t, Canceled, CauseOf(err))
	_, err = client(t, nil).Get(context.Background(), Request{URL: "::"})
	assert.Equal(t, BadRequest, CauseOf(err))
}

func TestRetriesUntilItWorksAndTellsEveryTry(t *testing.T) {
	at, n := answers(t, body(503, "text/html", "<p>busy"), body(200, "text/html", "<p>soon"), body(200, "application/json", `{"a":1}`))
	var tries []Attempt
	c := client(t, func(o *Options) {
		o.Retries = 3
		o.Hooks.Attempt = func(_ string, a Attempt) { tries = append(tries, a) }
		o.Budget = NewBudget([]Window{{time.Hour, 10}}, nil)
	})
	resp, err := c.Get(context.Background(), Request{URL: at, Weight: 2})
	require.NoError(t, err)
	assert.JSONEq(t, `{"a":1}`, string(resp.Body))
	assert.EqualValues(t, 3, n.Load())
	require.Len(t, tries, 3)
	assert.Equal(t, []string{"http-503", HTMLBody, ""}, []string{tries[0].Cause, tries[1].Cause, tries[2].Cause})
	assert.Equal(t, 7, tries[2].Bytes)
	left, _ := c.o.Budget.Left(time.Now(), time.Hour)
	assert.Equal(t, 4.0, left, "tries count for the budget too")
}

func TestWithoutRetriesTheOneTryIsTold(t *testing.T) {
	at, _ := answers(t, body(500, "text/plain", "oh"), body(200, "application/json", "{}"))
	var tries []Attempt
	c := client(t, func(o *Options) { o.Hooks.Attempt = func(_ string, a Attempt) { tries = append(tries, a) } })
	_, err := c.Get(context.Background(), Request{URL: at})
	require.Error(t, err)
	_, err = c.Get(context.Background(), Request{URL: at})
	require.NoError(t, err)
	require.Len(t, tries, 2)
	assert.Equal(t, "http-500", tries[0].Cause)
	assert.Equal(t, 200, tries[1].Status)
}

func TestAShortRetryAfterIsWaitedOutAndALongOneEndsTheTries(t *testing.T) {
	limited := func(after string) http.HandlerFunc {
		return func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Retry-After", after)
			body(429, "application/json", `{"reason":"slow down"}`)(w, r)
		}
	}
	at, n := answers(t, limited("1"), body(200, "application/json", "{}"))
	began := time.Now()
	_, err := client(t, func(o *Options) { o.Retries = 2 }).Get(context.Background(), Request{URL: at})
	require.NoError(t, err)
	assert.GreaterOrEqual(t, time.Since(began), time.Second)
	assert.EqualValues(t, 2, n.Load())

	now := noon
	at, n = answers(t, limited("600"), body(200, "application/json", "{}"))
	c := client(t, func(o *Options) { o.Retries = 2; o.Now = func() time.Time { return now } })
	_, err = c.Get(context.Background(), Request{URL: at})
	assert.Equal(t, "http-429", CauseOf(err))
	assert.Equal(t, 10*time.Minute, RetryAfterOf(err))
	assert.Contains(t, err.Error(), "(again in 10m0s)")
	now = now.Add(9 * time.Minute)
	_, err = c.Get(context.Background(), Request{URL: at})
	assert.Equal(t, Waiting, CauseOf(err), "the service is left alone")
	assert.Equal(t, time.Minute, RetryAfterOf(err))
	assert.EqualValues(t, 1, n.Load())
	now = now.Add(2 * time.Minute)
	_, err = c.Get(context.Background(), Request{URL: at})
	require.NoError(t, err)

	at, _ = answers(t, limited(noon.Add(time.Hour).Format(http.TimeFormat)))
	_, err = client(t, func(o *Options) { o.Now = func() time.Time { return noon } }).Get(context.Background(), Request{URL: at})
	assert.Equal(t, time.Hour, RetryAfterOf(err))
}

func TestWaitIsReadFromTheServicesWordsWhereNoHeaderSaysIt(t *testing.T) {
	at, _ := answers(t, body(429, "application/json", `{"reason":"tomorrow"}`))
	c := client(t, func(o *Options) {
		o.Explain = func(status int, b []byte) (string, time.Duration) {
			if status == 429 && strings.Contains(string(b), "tomorrow") {
				return "come tomorrow", 24 * time.Hour
			}
			return "", 0
		}
	})
	_, err := c.Get(context.Background(), Request{URL: at})
	assert.EqualError(t, err, "test: http-429: come tomorrow (again in 24h0m0s)")
	assert.Equal(t, 24*time.Hour, RetryAfterOf(err))
}

func TestBreakerOpensAndClosesAgain(t *testing.T) {
	at, n := answers(t, body(500, "text/plain", "no"), body(500, "text/plain", "no"), body(200, "application/json", "{}"))
	var states []string
	c := client(t, func(o *Options) {
		o.Failures, o.Cooldown = 2, 40*time.Millisecond
		o.Hooks.Breaker = func(_, from, to string) { states = append(states, from+">"+to) }
	})
	for range 2 {
		_, err := c.Get(context.Background(), Request{URL: at})
		require.Equal(t, "http-500", CauseOf(err))
	}
	_, err := c.Get(context.Background(), Request{URL: at})
	assert.Equal(t, BreakerOpen, CauseOf(err))
	assert.EqualValues(t, 2, n.Load(), "an open breaker asks nothing")
	assert.Equal(t, "open", c.State())
	require.Eventually(t, func() bool { return c.State() == "half-open" }, 2*time.Second, 5*time.Millisecond)
	_, err = c.Get(context.Background(), Request{URL: at})
	require.NoError(t, err)
	assert.Equal(t, []string{"closed>open", "open>half-open", "half-open>closed"}, states)
}

func TestRequestsOfOursThatAreWrongDoNotOpenTheBreakerButUselessAnswersDo(t *testing.T) {
	at, _ := answers(t, body(404, "application/json", "{}"))
	c := client(t, func(o *Options) { o.Failures = 1 })
	for range 3 {
		_, err := c.Get(context.Background(), Request{URL: at})
		require.Equal(t, "http-404", CauseOf(err))
	}
	at, _ = answers(t, body(200, "application/json", "{}"))
	_, err := c.Get(context.Background(), Request{URL: at, Check: func(*Response) error { return Errorf("test", WrongUnit, "temperature in K") }})
	require.Equal(t, WrongUnit, CauseOf(err))
	_, err = c.Get(context.Background(), Request{URL: at})
	assert.Equal(t, BreakerOpen, CauseOf(err))
}

func TestBudgetStopsBeforeTheRequest(t *testing.T) {
	at, n := answers(t, body(200, "application/json", "{}"))
	var left []float64
	c := client(t, func(o *Options) {
		o.Budget = NewBudget([]Window{{24 * time.Hour, 3}}, nil)
		o.Hooks.Budget = func(_ string, _ time.Duration, l float64) { left = append(left, l) }
	})
	_, err := c.Get(context.Background(), Request{URL: at, Weight: 2})
	require.NoError(t, err)
	_, err = c.Get(context.Background(), Request{URL: at, Weight: 2})
	assert.Equal(t, BudgetSpent, CauseOf(err))
	assert.Positive(t, RetryAfterOf(err))
	assert.EqualValues(t, 1, n.Load())
	assert.Equal(t, []float64{1}, left)
	assert.Equal(t, "closed", c.State())
}

func TestRateLimitGivesUpWhenTheCallerHasNoTime(t *testing.T) {
	at, n := answers(t, body(200, "application/json", "{}"))
	c := client(t, func(o *Options) { o.Rate, o.Burst = rate.Every(time.Hour), 1 })
	_, err := c.Get(context.Background(), Request{URL: at})
	require.NoError(t, err)
	ctx, cancel := context.WithTimeout(context.Background(), 50*time.Millisecond)
	defer cancel()
	_, err = c.Get(ctx, Request{URL: at})
	assert.Equal(t, Timeout, CauseOf(err))
	assert.EqualValues(t, 1, n.Load())
}

func TestOurUserAgentGoesOutAlsoAfterARedirectAndOneAtATime(t *testing.T) {
	var agents []string
	at, _ := answers(t, func(w http.ResponseWriter, r *http.Request) {
		agents = append(agents, r.UserAgent())
		if r.URL.Path == "/a" {
			http.Redirect(w, r, "/b", http.StatusMovedPermanently)
			return
		}
		body(200, "application/json", "{}")(w, r)
	})
	_, err := client(t, nil).Get(context.Background(), Request{URL: at + "/a"})
	require.NoError(t, err)
	assert.Equal(t, []string{"plotwarden/test (tests@example.org)", "plotwarden/test (tests@example.org)"}, agents)

	var now, most atomic.Int32
	at, _ = answers(t, func(w http.ResponseWriter, r *http.Request) {
		for n := now.Add(1); ; {
			if m := most.Load(); n <= m || most.CompareAndSwap(m, n) {
				break
			}
		}
		time.Sleep(20 * time.Millisecond)
		now.Add(-1)
		body(200, "application/json", "{}")(w, r)
	})
	c := client(t, nil)
	done := make(chan error, 4)
	for range 4 {
		go func() {
			_, err := c.Get(context.Background(), Request{URL: at})
			done <- err
		}()
	}
	for range 4 {
		require.NoError(t, <-done)
	}
	assert.EqualValues(t, 1, most.Load())
}

func TestNotModifiedIsAnAnswer(t *testing.T) {
	at, _ := answers(t, func(w http.ResponseWriter, r *http.Request) {
		assert.Equal(t, "then", r.Header.Get("If-Modified-Since"))
		w.WriteHeader(http.StatusNotModified)
	})
	resp, err := client(t, nil).Get(context.Background(), Request{URL: at, Header: map[string]string{"If-Modified-Since": "then"}})
	require.NoError(t, err)
	assert.Equal(t, http.StatusNotModified, resp.Status)
}

func TestOptionsAreChecked(t *testing.T) {
	_, err := New(Options{Name: "x"})
	require.ErrorContains(t, err, "User-Agent")
	_, err = New(Options{UserAgent: "x"})
	require.ErrorContains(t, err, "without a name")
	require.ErrorContains(t, NeedsContact("plotwarden/1.0"), "put an e-mail address or a web page in it")
	require.NoError(t, NeedsContact("plotwarden/1.0 (https://example.org)"))
}

func TestDecodeJSONNamesWhatIsWrong(t *testing.T) {
	for in, cause := range map[string]string{
		`{"a":1}`:        "",
		`{"a":1,"b":[]}`: "",
		`{"a":`:          Truncated,
		`{"a":1`:         Truncated,
		`{"a":"x"}`:      BadJSON,
		`{"a":;1}`:       BadJSON,
		``:               EmptyBody,
		`<html>`:         HTMLBody,
	} {
		var v struct{ A int }
		assert.Equal(t, cause, CauseOf(DecodeJSON("s", []byte(in), &v)), in)
	}
	assert.Equal(t, "unknown", CauseOf(errors.New("x")))
	assert.Equal(t, Canceled, CauseOf(context.Canceled))
	assert.Equal(t, Timeout, CauseOf(context.DeadlineExceeded))
}

func TestPlace(t *testing.T) {
	assert.ErrorContains(t, Place{ID: "a", Lat: 91}.Validate(), `place "a": latitude 91`)
	assert.ErrorContains(t, Place{ID: "a", Lon: -181}.Validate(), "longitude")
	assert.ErrorContains(t, Place{ID: "a", Elev: 9999}.Validate(), "elevation")
	assert.Equal(t, []string{"41.5", "-73.2121", "0"}, []string{Coordinate(41.5), Coordinate(-73.21214), Coordinate(0)})
	// One degree of latitude on a sphere of 6371 km is 2*pi*6371/360 km.
	assert.InDelta(t, 111.195, Place{Lat: 40}.DistanceKm(Place{Lat: 41}), 0.001)
}
