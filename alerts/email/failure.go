package email

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"net/textproto"
	"strings"

	"plotwarden/alerts"
)

func permanent(cause string, err error) error {
	return &alerts.SendError{Cause: cause, Permanent: true, Err: err}
}

// down classifies what happened before a mail was offered: connection,
// greeting, TLS, login. None of it is the mail's fault, so none is permanent: an
// operator can put it right while the mail waits.
func down(ctx context.Context, err error) error {
	return &alerts.SendError{Cause: cause(ctx, err), Down: true, Err: err}
}

// failed classifies what happened to one mail.
//
//   - No answer, or a connection that broke: temporary. It may have been taken;
//     the Message-ID is the same next time.
//   - 4xx: temporary.
//   - 5xx to the sender's address, or with a code of class 5.7 (policy, login,
//     relaying; RFC 3463, section 3.8): the server refuses us, not the mail.
//   - Other 5xx: permanent.
func failed(ctx context.Context, err error) error {
	out := &alerts.SendError{Cause: cause(ctx, err), Err: err}
	var (
		at     *step
		answer *textproto.Error
	)
	if ctx.Err() != nil || !errors.As(err, &at) || !errors.As(err, &answer) || answer.Code == 0 {
		out.Down = true
		return out
	}
	refused := at.command == "MAIL FROM" || strings.HasPrefix(answer.Msg, "5.7.")
	switch {
	case answer.Code == 421: // the service closes (RFC 5321, section 4.2.2)
		out.Down = true
	case answer.Code >= 500 && refused:
		out.Down = true
	case answer.Code >= 500:
		out.Permanent = true
	}
	return out
}

// cause names a failure in a few stable words.
func cause(ctx context.Context, err error) string {
	var (
		answer *textproto.Error
		op     *net.OpError
		dns    *net.DNSError
		record tls.RecordHeaderError
		cert   *tls.CertificateVerificationError
		host   x509.HostnameError
		n      net.Error
	)
	switch {
	case ctx.Err() != nil && errors.Is(context.Cause(ctx), context.Canceled):
		return "smtp-stopped"
	case ctx.Err() != nil, errors.As(err, &n) && n.Timeout():
		return "smtp-timeout"
	case errors.As(err, &answer):
		return fmt.Sprintf("smtp-%d", answer.Code)
	case errors.As(err, &record), errors.As(err, &cert), errors.As(err, &host), strings.Contains(err.Error(), "STARTTLS"):
		return "smtp-tls"
	case errors.As(err, &dns):
		return "smtp-name"
	case errors.As(err, &op) && op.Op == "dial":
		return "smtp-refused"
	}
	return "smtp-broken"
}
