package source

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// Causes of failure. They are stable: metrics, log lines, the status shown on
// the dashboard and tests use these words. An answer with a status of 400 or
// more has the cause "http-" and its number (see HTTPCause).
const (
	Refused           = "refused"            // nobody listens there
	Unreachable       = "unreachable"        // no name, no route, reset before an answer
	Timeout           = "timeout"            // no whole answer in time
	Canceled          = "canceled"           // the caller gave up
	HTMLBody          = "html-body"          // a web page where data was wanted, whatever the status
	EmptyBody         = "empty-body"         // nothing where data was wanted
	Truncated         = "truncated"          // the answer ends too early
	BadJSON           = "bad-json"           // not what the service documents
	BadLine           = "bad-line"           // a line of a text layout that does not parse
	TooLarge          = "too-large"          // more bytes than the limit
	RedirectLoop      = "redirect-loop"      // more than MaxRedirects
	RedirectElsewhere = "redirect-elsewhere" // to another host or down to plain HTTP
	MissingVariable   = "missing-variable"   // a variable that we need is absent or wholly null
	WrongUnit         = "wrong-unit"         // a variable came in a unit that we did not ask for
	WrongZone         = "wrong-zone"         // times are not in UTC although asked
	WrongPlace        = "wrong-place"        // the answer is for somewhere else
	BadTime           = "bad-time"           // hours out of order, double, off the hour or not a time
	Shifted           = "shifted"            // sunshine in the dark: the hours are moved
	Stale             = "stale"              // an old answer served as if new
	BadValue          = "bad-value"          // a value that is not a number
	NoData            = "no-data"            // the service has nothing for this place and time
	BudgetSpent       = "budget-spent"       // our own daily limit is reached
	Waiting           = "waiting"            // the service told us to come later
	BreakerOpen       = "breaker-open"       // too many failures in a row: not asked
	BadRequest        = "bad-request"        // our own mistake, nothing was sent
	Unauthorized      = "unauthorized"       // a grower's station with a wrong or no token
)

// HTTPCause returns the cause of an answer with a failing status: "http-429".
func HTTPCause(status int) string { return fmt.Sprintf("http-%d", status) }

// Error is one failure of one source. Its text has no query string, so no key.
type Error struct {
	Source     string        // name of the source, as in the configuration
	Cause      string        // one of the causes above
	Status     int           // HTTP status; 0 when none came
	RetryAfter time.Duration // how long to leave the service alone; 0 when unknown
	Err        error         // detail: the variable, the place, the service's own words
}

func (e *Error) Error() string {
	s := e.Source + ": " + e.Cause
	if e.Err != nil {
		s += ": " + e.Err.Error()
	}
	if e.RetryAfter > 0 {
		s += fmt.Sprintf(" (again in %s)", e.RetryAfter.Round(time.Second))
	}
	return s
}

// Unwrap returns the detail.
func (e *Error) Unwrap() error { return e.Err }

// Errorf makes an Error with a formatted detail; %w wraps.
func Errorf(source, cause, format string, args ...any) *Error {
	return &Error{Source: source, Cause: cause, Err: fmt.Errorf(format, args...)}
}

// CauseOf returns the cause inside an error, "" for nil and "unknown" where an
// error holds none.
func CauseOf(err error) string {
	var e *Error
	switch {
	case err == nil:
		return ""
	case errors.As(err, &e):
		return e.Cause
	case errors.Is(err, context.Canceled):
		return Canceled
	case errors.Is(err, context.DeadlineExceeded):
		return Timeout
	}
	return "unknown"
}

// RetryAfterOf returns how long the error asks to leave the service alone.
func RetryAfterOf(err error) time.Duration {
	var e *Error
	if errors.As(err, &e) {
		return e.RetryAfter
	}
	return 0
}
