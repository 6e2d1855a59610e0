package email

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net"
	"net/mail"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/alerts"
	"plotwarden/alerts/smtptest"
	"plotwarden/store"
)

var slot = time.Date(2026, 6, 4, 9, 30, 0, 0, time.UTC)

func delivery(t *testing.T) store.Delivery {
	body, err := json.Marshal(Mail{
		ID: "abc@ground.example", To: `"Ada Müller" <ada@ground.example>`, Subject: "North ground: 2 to act on — Thu 4 Jun", Date: slot,
		Text: "► ACT: Late blight\n.\nFrom here on\n" + strings.Repeat("long ", 300) + "\n", HTML: "<p>► act &amp; more</p>",
	})
	require.NoError(t, err)
	return store.Delivery{Message: store.Message{Key: "k", Body: body}}
}

func config(s *smtptest.Server, how string) Config {
	return Config{Host: s.Host(), Port: s.Port(), TLS: how, From: "The beds <beds@ground.example>", Hello: "ground.example", Timeout: 5 * time.Second}
}

func sender(t *testing.T, c Config) *Sender {
	s, err := NewSender(c)
	require.NoError(t, err)
	return s
}

func encodeMail(t *testing.T, m Mail) []byte {
	t.Helper()
	b, err := json.Marshal(m)
	require.NoError(t, err)
	return b
}

// TestMailArrivesAsWritten reads the mail with the standard library.
func TestMailArrivesAsWritten(t *testing.T) {
	server := smtptest.Start(t, smtptest.Plain)
	s := sender(t, config(server, NoTLS))
	require.NoError(t, s.Send(t.Context(), delivery(t)))
	require.NoError(t, s.Send(t.Context(), delivery(t)))
	got := server.Got()
	require.Len(t, got, 2)
	assert.Equal(t, string(got[0].Raw), string(got[1].Raw), "sent again it is the same, byte for byte")
	assert.Equal(t, "beds@ground.example", got[0].From)
	assert.Equal(t, []string{"ada@ground.example"}, got[0].To)

	m, err := mail.ReadMessage(bytes.NewReader(got[0].Raw))
	require.NoError(t, err)
	assert.Equal(t, "<abc@ground.example>", m.Header.Get("Message-ID"))
	assert.Equal(t, "auto-generated", m.Header.Get("Auto-Submitted"))
	date, err := m.Header.Date()
	require.NoError(t, err)
	assert.True(t, slot.Equal(date))
	subject, err := new(mime.WordDecoder).DecodeHeader(m.Header.Get("Subject"))
	require.NoError(t, err)
	assert.Equal(t, "North ground: 2 to act on — Thu 4 Jun", subject)
	to, err := m.Header.AddressList("To")
	require.NoError(t, err)
	assert.Equal(t, []*mail.Address{{Name: "Ada Müller", Address: "ada@ground.example"}}, to)
	from, err := m.Header.AddressList("From")
	require.NoError(t, err)
	assert.Equal(t, []*mail.Address{{Name: "The beds", Address: "beds@ground.example"}}, from)

	kind, params, err := mime.ParseMediaType(m.Header.Get("Content-Type"))
	require.NoError(t, err)
	assert.Equal(t, "multipart/alternative", kind)
	parts := multipart.NewReader(m.Body, params["boundary"])
	want, err := Parse(delivery(t).Body)
	require.NoError(t, err)
	for _, w := range []struct{ kind, text string }{{"text/plain", want.Text}, {"text/html", want.HTML}} { // plain first: the last is preferred (RFC 2046, 5.1.4)
		p, err := parts.NextRawPart()
		require.NoError(t, err)
		assert.Contains(t, p.Header.Get("Content-Type"), w.kind)
		assert.Contains(t, strings.ToUpper(p.Header.Get("Content-Type")), "UTF-8")
		assert.Equal(t, "quoted-printable", p.Header.Get("Content-Transfer-Encoding"))
		text, err := io.ReadAll(quotedprintable.NewReader(p))
		require.NoError(t, err)
		assert.Equal(t, w.text, strings.ReplaceAll(string(text), "\r\n", "\n"))
	}
	_, err = parts.NextPart()
	assert.ErrorIs(t, err, io.EOF)
	for _, line := range strings.Split(string(got[0].Raw), "\n") {
		assert.LessOrEqual(t, len(line), 998, "RFC 5322, section 2.1.1")
	}
}

func TestSecuredConnectionsAndLogin(t *testing.T) {
	for how, sec := range map[string]smtptest.Security{StartTLS: smtptest.StartTLS, TLS: smtptest.Immediate, NoTLS: smtptest.Plain} {
		t.Run(how, func(t *testing.T) {
			server := smtptest.Start(t, sec)
			server.User, server.Password = "beds", "secret"
			c := config(server, how)
			c.Username, c.Password = "beds", "secret"
			if sec != smtptest.Plain {
				c.TLSConfig = server.Trust()
			}
			require.NoError(t, sender(t, c).Send(t.Context(), delivery(t)))
			require.Len(t, server.Got(), 1)
			assert.Equal(t, sec != smtptest.Plain, server.Got()[0].TLS)
			assert.Equal(t, "beds", server.Got()[0].User)

			c.Password = "wrong"
			fails(t, sender(t, c), "smtp-535", false, true)
			if sec != smtptest.Plain {
				c.TLSConfig = nil // the system does not know the test's authority
				fails(t, sender(t, c), "smtp-tls", false, true)
			}
			assert.Len(t, server.Got(), 1)
			noLeak(t, server)
		})
	}
	t.Run("a server without STARTTLS gets nothing", func(t *testing.T) {
		server := smtptest.Start(t, smtptest.Plain)
		fails(t, sender(t, config(server, StartTLS)), "smtp-tls", false, true)
		assert.Empty(t, server.Got())
	})
}

func fails(t *testing.T, s *Sender, cause string, permanent, down bool) {
	t.Helper()
	err := s.Send(t.Context(), delivery(t))
	var e *alerts.SendError
	require.ErrorAs(t, err, &e)
	assert.Equal(t, []any{cause, permanent, down}, []any{e.Cause, e.Permanent, e.Down}, "%v", err)
	assert.NotContains(t, err.Error(), "secret")
}

// noLeak waits for the server to see every connection closed.
func noLeak(t *testing.T, server *smtptest.Server) {
	t.Helper()
	assert.Eventually(t, func() bool { return server.Open() == 0 }, 5*time.Second, 5*time.Millisecond, "a connection stays open")
}

func TestFaults(t *testing.T) {
	for name, c := range map[string]struct {
		fault     func(*smtptest.Server)
		cause     string
		permanent bool
		down      bool
		arrived   int
	}{
		"sender refused": {func(s *smtptest.Server) {
			s.OnMail(func(string) error { return smtptest.Answer(550, 5, 1, 8, "bad sender") })
		}, "smtp-550", false, true, 0},
		"no such mailbox": {func(s *smtptest.Server) {
			s.OnRcpt(func(string) error { return smtptest.Answer(550, 5, 1, 1, "no such user") })
		}, "smtp-550", true, false, 0},
		"relaying denied": {func(s *smtptest.Server) {
			s.OnRcpt(func(string) error { return smtptest.Answer(554, 5, 7, 1, "relay denied") })
		}, "smtp-554", false, true, 0},
		"mailbox full": {func(s *smtptest.Server) {
			s.OnRcpt(func(string) error { return smtptest.Answer(452, 4, 2, 2, "full") })
		}, "smtp-452", false, false, 0},
		"come back later": {func(s *smtptest.Server) {
			s.OnRcpt(func(string) error { return smtptest.Answer(450, 4, 7, 1, "greylisted") })
		}, "smtp-450", false, false, 0},
		"closing": {func(s *smtptest.Server) {
			s.OnMail(func(string) error { return smtptest.Answer(421, 4, 3, 2, "closing") })
		}, "smtp-421", false, true, 0},
		"content refused": {func(s *smtptest.Server) {
			s.OnData(func(smtptest.Mail) error { return smtptest.Answer(552, 5, 3, 4, "too big") })
		}, "smtp-552", true, false, 1},
		"disk full there": {func(s *smtptest.Server) {
			s.OnData(func(smtptest.Mail) error { return smtptest.Answer(451, 4, 3, 0, "disk") })
		}, "smtp-451", false, false, 1},
		"dropped at RCPT":    {func(s *smtptest.Server) { s.OnRcpt(func(string) error { return smtptest.ErrDrop }) }, "smtp-broken", false, true, 0},
		"dropped after DATA": {func(s *smtptest.Server) { s.OnData(func(smtptest.Mail) error { return smtptest.ErrDrop }) }, "smtp-broken", false, true, 1},
		"hangs after DATA":   {func(s *smtptest.Server) { s.OnData(func(smtptest.Mail) error { return s.Hang() }) }, "smtp-timeout", false, true, 1},
		"hangs at MAIL FROM": {func(s *smtptest.Server) { s.OnMail(func(string) error { return s.Hang() }) }, "smtp-timeout", false, true, 0},
	} {
		t.Run(name, func(t *testing.T) {
			server := smtptest.Start(t, smtptest.Plain)
			c.fault(server)
			conf := config(server, NoTLS)
			if strings.HasPrefix(name, "hangs") {
				conf.Timeout = 200 * time.Millisecond
			}
			fails(t, sender(t, conf), c.cause, c.permanent, c.down)
			assert.Len(t, server.Got(), c.arrived)
			if !strings.HasPrefix(name, "hangs") {
				noLeak(t, server)
			}
		})
	}
}

func TestServersThatAreNotThere(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	port := l.Addr().(*net.TCPAddr).Port
	conf := Config{Host: "127.0.0.1", Port: port, TLS: NoTLS, From: "beds@ground.example", Timeout: 300 * time.Millisecond}
	fails(t, sender(t, conf), "smtp-timeout", false, true) // accepts and never greets
	require.NoError(t, l.Close())
	conf.Timeout = 5 * time.Second
	fails(t, sender(t, conf), "smtp-refused", false, true)
	conf.Host = "no-such-host.invalid" // a name that never resolves (RFC 6761, section 6.4)
	fails(t, sender(t, conf), "smtp-name", false, true)
}

func TestAnotherProtocolAtThePort(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			_, _ = c.Write([]byte("HTTP/1.1 400 Bad Request\r\n\r\n"))
			_ = c.Close()
		}
	}()
	conf := Config{Host: "127.0.0.1", Port: l.Addr().(*net.TCPAddr).Port, TLS: NoTLS, From: "beds@ground.example", Timeout: 5 * time.Second}
	fails(t, sender(t, conf), "smtp-broken", false, true)
	conf.TLS = TLS
	fails(t, sender(t, conf), "smtp-tls", false, true)
}

func TestStopEndsAnAttemptAtOnce(t *testing.T) {
	server := smtptest.Start(t, smtptest.Plain)
	server.OnData(func(smtptest.Mail) error { return server.Hang() })
	conf := config(server, NoTLS)
	conf.Timeout = time.Hour
	s := sender(t, conf)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- s.Send(ctx, delivery(t)) }()
	require.Eventually(t, func() bool { return len(server.Got()) == 1 }, 5*time.Second, time.Millisecond)
	cancel()
	select {
	case err := <-done:
		var e *alerts.SendError
		require.True(t, errors.As(err, &e))
		assert.Equal(t, "smtp-stopped", e.Cause)
	case <-time.After(5 * time.Second):
		t.Fatal("the attempt goes on")
	}
}

func TestUnusableBodiesAreGivenUp(t *testing.T) {
	s := sender(t, Config{Host: "127.0.0.1", Port: 1, TLS: NoTLS, From: "beds@ground.example"})
	for _, body := range []string{"", "{", `{"id":"x","to":"not an address"}`, `{"to":"a@b.example"}`} {
		err := s.Send(t.Context(), store.Delivery{Message: store.Message{Body: []byte(body)}})
		var e *alerts.SendError
		require.ErrorAs(t, err, &e, body)
		assert.True(t, e.Permanent, body)
	}
}

func TestNewSenderNamesTheFault(t *testing.T) {
	good := Config{Host: "mail.example", Port: 587, TLS: StartTLS, From: "beds@ground.example", Username: "u", Password: "p"}
	_, err := NewSender(good)
	require.NoError(t, err)
	for want, spoil := range map[string]func(*Config){
		"both must be set":  func(c *Config) { c.Host = "" },
		"from 1 to 65535":   func(c *Config) { c.Port = 70_000 },
		"name@example.org":  func(c *Config) { c.From = "beds" },
		"use starttls, tls": func(c *Config) { c.TLS = "yes" },
		"in the clear":      func(c *Config) { c.TLS = NoTLS },
	} {
		c := good
		spoil(&c)
		_, err := NewSender(c)
		assert.ErrorContains(t, err, want)
	}
}
