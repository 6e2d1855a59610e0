// Package delivery says why a message over HTTP did not arrive, so that the
// outbox can decide what comes next. The channels over HTTP share it.
package delivery

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"net/http"
	"strconv"
	"strings"
	"time"

	"plotwarden/alerts"
	"plotwarden/alerts/guard"
)

// Failed classifies an attempt that brought no answer. Only a target that leads
// where no message may go is permanent: everything else can heal by itself or
// be put right while the message waits. channel is the first word of the cause.
func Failed(ctx context.Context, channel string, err error) *alerts.SendError {
	out := &alerts.SendError{Cause: channel + "-" + reason(ctx, err), Err: guard.Bare(err)}
	var refused *guard.RefusedError
	out.Permanent = errors.As(err, &refused)
	return out
}

func reason(ctx context.Context, err error) string {
	var (
		refused *guard.RefusedError
		op      *net.OpError
		dns     *net.DNSError
		record  tls.RecordHeaderError
		cert    *tls.CertificateVerificationError
		alert   tls.AlertError
		host    x509.HostnameError
		n       net.Error
	)
	switch {
	case errors.As(err, &refused):
		return "address"
	case errors.Is(context.Cause(ctx), context.Canceled):
		return "stopped"
	case ctx.Err() != nil, errors.As(err, &n) && n.Timeout():
		return "timeout"
	case errors.As(err, &record), errors.As(err, &cert), errors.As(err, &host), errors.As(err, &alert),
		strings.Contains(err.Error(), "server gave HTTP response to HTTPS client"):
		return "tls"
	case errors.As(err, &dns):
		return "name"
	case errors.As(err, &op) && op.Op == "dial":
		return "refused"
	}
	return "broken"
}

// Answer classifies an answer; nil means that the message was taken.
//
//   - 2xx: taken.
//   - 3xx: temporary. No redirect is followed, because it could lead anywhere;
//     whoever runs the target can put its address right while the message waits.
//   - 401, 403, 404, 407: temporary. The target is set up wrongly; the message
//     is not at fault.
//   - 408, 425, 429 and 5xx: temporary, but for 501 and 505. A Retry-After is
//     kept (see RetryAfter).
//   - All else: permanent.
func Answer(channel string, status int, header http.Header, detail string, now time.Time) *alerts.SendError {
	if status >= 200 && status < 300 {
		return nil
	}
	out := &alerts.SendError{Cause: fmt.Sprintf("%s-%d", channel, status), Permanent: true}
	text := fmt.Sprintf("the target answered %d %s", status, http.StatusText(status))
	switch {
	case status >= 300 && status < 400:
		out.Cause, out.Permanent = channel+"-redirect", false
		text += "; redirects are not followed, so set the final address"
	case status == 401, status == 403, status == 404, status == 407, status == 408, status == 425, status == 429:
		out.Permanent = false
	case status >= 500 && status != 501 && status != 505:
		out.Permanent = false
	}
	if detail = strings.Join(strings.Fields(printable(detail)), " "); detail != "" {
		text += ": " + detail
	}
	out.Err = errors.New(text)
	if after, ok := parseAfter(header.Get("Retry-After"), now); ok && !out.Permanent {
		out.Err = &waitError{after: after, err: out.Err}
	}
	return out
}

// printable drops what could forge lines of a log.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == '\uFFFD' || r >= 0x80 && r <= 0x9f || r == '\u2028' || r == '\u2029' {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, " "))
}

type waitError struct {
	after time.Duration
	err   error
}

func (e *waitError) Error() string {
	return fmt.Sprintf("%v (asked to wait %s)", e.err, e.after.Round(time.Second))
}
func (e *waitError) Unwrap() error { return e.err }

// RetryAfter returns how long the other side asked to be left alone, at most a
// day, and false when it did not ask.
func RetryAfter(err error) (time.Duration, bool) {
	var e *waitError
	if errors.As(err, &e) {
		return e.after, true
	}
	return 0, false
}

const longestWait = 24 * time.Hour

// parseAfter reads Retry-After: seconds or a date (RFC 9110, section 10.2.3).
func parseAfter(s string, now time.Time) (time.Duration, bool) {
	if s == "" {
		return 0, false
	}
	if n, err := strconv.ParseUint(s, 10, 63); err == nil {
		return time.Duration(min(n, uint64(longestWait/time.Second))) * time.Second, true
	}
	if t, err := http.ParseTime(s); err == nil {
		return min(max(t.Sub(now), 0), longestWait), true
	}
	return 0, false
}
