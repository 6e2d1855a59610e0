// Package smtptest has a mail server for tests: a real one on a loopback port
// that can be told to fail in the ways that mail servers do.
package smtptest

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"io"
	"log"
	"math/big"
	"net"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-sasl"
	"github.com/emersion/go-smtp"
	"github.com/stretchr/testify/require"
)

// Mail is one mail that the server got whole, whatever it answered.
type Mail struct {
	From string
	To   []string
	Raw  []byte
	TLS  bool
	User string
}

// Server is a running mail server.
type Server struct {
	// User and Password are what login wants; empty: no login is offered. Set them
	// before the first mail.
	User, Password string

	listener net.Listener
	server   *smtp.Server
	pool     *x509.CertPool
	gone     chan struct{}

	mu     sync.Mutex
	got    []Mail
	open   int
	onMail func(from string) error
	onRcpt func(to string) error
	onData func(m Mail) error
}

// OnMail sets what answers MAIL FROM; nil takes everything. Return Answer to
// refuse, ErrDrop to cut the connection.
func (s *Server) OnMail(f func(from string) error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.onMail = f
}

// OnRcpt sets what answers RCPT TO, as OnMail does.
func (s *Server) OnRcpt(f func(to string) error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.onRcpt = f
}

// OnData sets what answers when a mail has come whole, as OnMail does.
func (s *Server) OnData(f func(m Mail) error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.onData = f
}

// hook reads one of the three under the lock.
func hook[T any](s *Server, f *func(T) error) func(T) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return *f
}

// ErrDrop cuts the connection without an answer.
var ErrDrop = errors.New("drop the connection")

// Answer is an answer with a code and an enhanced code.
func Answer(code, class, subject, detail int, text string) error {
	return &smtp.SMTPError{Code: code, EnhancedCode: smtp.EnhancedCode{class, subject, detail}, Message: text}
}

// Security is how the server protects its connections.
type Security int

// The securities.
const (
	Plain Security = iota
	StartTLS
	Immediate
)

// Start runs a server until the test ends.
func Start(t testing.TB, sec Security) *Server {
	s := &Server{gone: make(chan struct{})}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	s.listener = l
	s.server = smtp.NewServer(smtp.BackendFunc(func(c *smtp.Conn) (smtp.Session, error) {
		s.count(1)
		return &session{s: s, c: c}, nil
	}))
	s.server.Domain = "localhost"
	s.server.AllowInsecureAuth = sec == Plain
	s.server.ErrorLog = log.New(io.Discard, "", 0)
	if sec != Plain {
		cert, pool := certificate(t)
		s.pool = pool
		s.server.TLSConfig = &tls.Config{Certificates: []tls.Certificate{cert}, MinVersion: tls.VersionTLS12}
	}
	serveOn := l
	if sec == Immediate {
		serveOn = tls.NewListener(l, s.server.TLSConfig)
	}
	go func() { _ = s.server.Serve(serveOn) }() // ends with Close
	t.Cleanup(func() {
		close(s.gone)
		_ = s.server.Close()
	})
	return s
}

// Host and Port are where the server listens.
func (s *Server) Host() string { return "127.0.0.1" }

// Port is the port that it listens at.
func (s *Server) Port() int { return s.listener.Addr().(*net.TCPAddr).Port }

// Trust returns client settings that trust the server's certificate.
func (s *Server) Trust() *tls.Config {
	return &tls.Config{RootCAs: s.pool, ServerName: "127.0.0.1", MinVersion: tls.VersionTLS12}
}

// Got returns the mails that came whole so far.
func (s *Server) Got() []Mail {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]Mail(nil), s.got...)
}

// Open returns how many connections are open.
func (s *Server) Open() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.open
}

// Hang waits until the test ends; call it in a hook.
func (s *Server) Hang() error {
	<-s.gone
	return ErrDrop
}

func (s *Server) count(d int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.open += d
}

type session struct {
	s    *Server
	c    *smtp.Conn
	mail Mail
}

func (x *session) AuthMechanisms() []string {
	if x.s.User == "" {
		return nil
	}
	return []string{sasl.Plain}
}

func (x *session) Auth(string) (sasl.Server, error) {
	return sasl.NewPlainServer(func(_, user, password string) error {
		if user != x.s.User || password != x.s.Password {
			return smtp.ErrAuthFailed
		}
		x.mail.User = user
		return nil
	}), nil
}

func (x *session) answer(err error) error {
	if errors.Is(err, ErrDrop) {
		_ = x.c.Conn().Close()
	}
	return err
}

func (x *session) Mail(from string, _ *smtp.MailOptions) error {
	if x.s.User != "" && x.mail.User == "" {
		return smtp.ErrAuthRequired
	}
	x.mail.From = from
	if f := hook(x.s, &x.s.onMail); f != nil {
		return x.answer(f(from))
	}
	return nil
}

func (x *session) Rcpt(to string, _ *smtp.RcptOptions) error {
	x.mail.To = append(x.mail.To, to)
	if f := hook(x.s, &x.s.onRcpt); f != nil {
		return x.answer(f(to))
	}
	return nil
}

func (x *session) Data(r io.Reader) error {
	raw, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	m := x.mail
	m.Raw = raw
	_, m.TLS = x.c.TLSConnectionState()
	x.s.mu.Lock()
	x.s.got = append(x.s.got, m)
	x.s.mu.Unlock()
	if f := hook(x.s, &x.s.onData); f != nil {
		return x.answer(f(m))
	}
	return nil
}

func (x *session) Reset() { x.mail = Mail{User: x.mail.User} }

func (x *session) Logout() error {
	x.s.count(-1)
	return nil
}

func certificate(t testing.TB) (tls.Certificate, *x509.CertPool) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	template := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "127.0.0.1"}, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), IsCA: true, BasicConstraintsValid: true,
		KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	require.NoError(t, err)
	parsed, err := x509.ParseCertificate(der)
	require.NoError(t, err)
	pool := x509.NewCertPool()
	pool.AddCert(parsed)
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}, pool
}
