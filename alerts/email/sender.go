package email

import (
	"context"
	"crypto/tls"
	"fmt"
	"net"
	"net/mail"
	"strconv"
	"time"

	gomail "github.com/wneessen/go-mail"

	"plotwarden/store"
)

// The ways to protect the connection.
const (
	StartTLS = "starttls" // plain at first, then TLS or nothing
	TLS      = "tls"      // TLS from the first byte
	NoTLS    = "none"     // for a server on this machine
)

// Config says how to reach the mail server.
type Config struct {
	Host     string
	Port     int
	TLS      string // StartTLS, TLS or NoTLS
	Username string // empty: no login
	Password string
	From     string        // RFC 5322 address, with or without a name
	Hello    string        // the name this machine gives itself; empty: its host name
	Timeout  time.Duration // of one attempt; 30 s when 0
	// TLSConfig replaces the default, which trusts the system's authorities; nil
	// in normal use.
	TLSConfig *tls.Config
	DKIM      *DKIM // nil: mails are not signed here
}

// Sender sends mail over SMTP, one connection a mail. It may be used from many
// goroutines.
type Sender struct {
	c Config
}

// NewSender checks the configuration. It does not connect.
func NewSender(c Config) (*Sender, error) {
	if c.Host == "" || c.Port < 1 || c.Port > 65535 {
		return nil, fmt.Errorf("mail server %q port %d: both must be set, the port from 1 to 65535", c.Host, c.Port)
	}
	if _, err := mail.ParseAddress(c.From); err != nil {
		return nil, fmt.Errorf("mail sender %q: %w; write name@example.org or Name <name@example.org>", c.From, err)
	}
	switch c.TLS {
	case StartTLS, TLS:
	case NoTLS:
		if ip := net.ParseIP(c.Host); c.Username != "" && c.Host != "localhost" && (ip == nil || !ip.IsLoopback()) {
			return nil, fmt.Errorf("mail server %s: without TLS the password would go in the clear; use %s or %s", c.Host, StartTLS, TLS)
		}
	default:
		return nil, fmt.Errorf("mail server %s: tls is %q; use %s, %s or %s", c.Host, c.TLS, StartTLS, TLS, NoTLS)
	}
	if c.Timeout <= 0 {
		c.Timeout = 30 * time.Second
	}
	if c.TLSConfig == nil {
		c.TLSConfig = &tls.Config{ServerName: c.Host, MinVersion: tls.VersionTLS12}
	}
	return &Sender{c}, nil
}

// Send makes one attempt. Every failure is an *alerts.SendError. Nil means that
// the server has taken the mail.
func (s *Sender) Send(ctx context.Context, d store.Delivery) error {
	m, err := Parse(d.Body)
	if err != nil {
		return permanent("mail-unreadable", err)
	}
	raw, to, err := m.write(s.c.From)
	if err != nil {
		return permanent("mail-address", err)
	}
	if s.c.DKIM != nil {
		if raw, err = s.c.DKIM.sign(raw); err != nil {
			return permanent("mail-signature", err)
		}
	}
	ctx, cancel := context.WithTimeout(ctx, s.c.Timeout)
	defer cancel()
	line := &line{dialer: &net.Dialer{}, secure: s.c.TLS == TLS, config: s.c.TLSConfig}
	defer line.close()
	// A server that hangs must not hang the worker: the end of the context cuts
	// the connection, whatever is under way.
	stop := context.AfterFunc(ctx, line.close)
	defer stop()

	client, err := s.client(line)
	if err != nil {
		return permanent("mail-settings", err)
	}
	conn, err := client.DialToSMTPClientWithContext(ctx)
	if err != nil {
		return down(ctx, err)
	}
	if err := hand(conn, to, raw); err != nil {
		return failed(ctx, err)
	}
	_ = client.CloseWithSMTPClient(conn) // it is taken; that the good-bye failed is nothing
	return nil
}

func (s *Sender) client(l *line) (*gomail.Client, error) {
	policy := gomail.NoTLS
	if s.c.TLS == StartTLS {
		policy = gomail.TLSMandatory
	}
	opts := []gomail.Option{
		gomail.WithPort(s.c.Port), gomail.WithTimeout(s.c.Timeout + time.Minute), // the context ends it first and says why
		gomail.WithTLSPolicy(policy), gomail.WithTLSConfig(s.c.TLSConfig),
		gomail.WithDialContextFunc(l.dial),
	}
	if s.c.TLS == TLS {
		opts = append(opts, gomail.WithSSL())
	}
	if s.c.Hello != "" {
		opts = append(opts, gomail.WithHELO(s.c.Hello))
	}
	if s.c.Username != "" {
		// Not the library's own discovery: it takes a connection that it did not
		// open itself for unprotected.
		ways := []gomail.SMTPAuthType{gomail.SMTPAuthSCRAMSHA256PLUS, gomail.SMTPAuthSCRAMSHA256, gomail.SMTPAuthSCRAMSHA1PLUS, gomail.SMTPAuthSCRAMSHA1}
		if s.c.TLS == NoTLS { // on this machine only, see NewSender
			ways = append(ways, gomail.SMTPAuthPlainNoEnc, gomail.SMTPAuthLoginNoEnc)
		} else {
			ways = append(ways, gomail.SMTPAuthPlain, gomail.SMTPAuthLogin)
		}
		opts = append(opts, gomail.WithOpportunisticSMTPAuth(ways...), gomail.WithUsername(s.c.Username), gomail.WithPassword(s.c.Password))
	}
	return gomail.NewClient(s.c.Host, opts...)
}

// Address returns host and port of the server.
func (s *Sender) Address() string { return net.JoinHostPort(s.c.Host, strconv.Itoa(s.c.Port)) }
