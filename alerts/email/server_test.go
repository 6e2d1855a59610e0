package email

import (
	"bytes"
	"fmt"
	"net"
	"net/mail"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/alerts"
	"plotwarden/store"
)

// aiosmtpd of Debian (python3-aiosmtpd) stands for mail servers that others wrote.
// This one answers by the recipient's name, and writes what it takes to a folder.
const aiosmtpd = `
import asyncio, os, sys
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP
out, port = sys.argv[1], int(sys.argv[2])
class Handler:
    n = 0
    async def handle_RCPT(self, server, session, envelope, address, options):
        who = address.split("@")[0]
        if who == "full": return "452 4.2.2 mailbox full"
        if who == "nobody": return "550 5.1.1 no such user"
        envelope.rcpt_tos.append(address)
        return "250 2.1.5 ok"
    async def handle_DATA(self, server, session, envelope):
        who = envelope.rcpt_tos[0].split("@")[0]
        if who == "hang": await asyncio.sleep(3600)
        Handler.n += 1
        with open(os.path.join(out, "%d.part" % Handler.n), "wb") as f: f.write(envelope.content)
        os.rename(os.path.join(out, "%d.part" % Handler.n), os.path.join(out, "%d.eml" % Handler.n))
        if who == "drop":
            server.transport.abort()
            return "250 never sent"
        if who == "later": return "451 4.3.0 later"
        if who == "refused": return "554 5.6.0 content refused"
        return "250 2.0.0 taken"
c = Controller(Handler(), hostname="127.0.0.1", port=port)
c.start()
sys.stdin.read()
`

// freePort is a port that was free a moment ago.
func freePort(t *testing.T) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}

func answers(t *testing.T, port int) {
	t.Helper()
	require.Eventually(t, func() bool {
		c, err := net.DialTimeout("tcp", fmt.Sprintf("127.0.0.1:%d", port), time.Second)
		if err == nil {
			_ = c.Close()
		}
		return err == nil
	}, 20*time.Second, 50*time.Millisecond, "the mail server does not listen")
}

// lacks skips where something of Debian is not there, and fails in CI.
func lacks(t *testing.T, what string) {
	t.Helper()
	if os.Getenv("CI") == "true" {
		t.Fatalf("%s is not there: apt-get install %[1]s", what)
	}
	t.Skipf("%s is not there: apt-get install %[1]s", what)
}

func to(t *testing.T, who string) store.Delivery {
	t.Helper()
	d := delivery(t)
	m, err := Parse(d.Body)
	require.NoError(t, err)
	m.To = who + "@ground.example"
	m.Picture, m.CID, m.Calendar = []byte("a picture"), "line@ground.example", []byte("BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n")
	d.Body = encodeMail(t, m)
	return d
}

// TestAnotherServer sends to a server of another make, with its faults.
func TestAnotherServer(t *testing.T) {
	if exec.Command("/usr/bin/python3", "-c", "import aiosmtpd").Run() != nil {
		lacks(t, "python3-aiosmtpd")
	}
	out, port := t.TempDir(), freePort(t)
	cmd := exec.Command("/usr/bin/python3", "-c", aiosmtpd, out, fmt.Sprint(port)) //nolint:gosec // the test's own text
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		_ = in.Close()
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
	answers(t, port)
	conf := Config{Host: "127.0.0.1", Port: port, TLS: NoTLS, From: "The beds <beds@ground.example>", Hello: "ground.example", Timeout: 10 * time.Second}
	s := sender(t, conf)
	require.NoError(t, s.Send(t.Context(), to(t, "ada")))
	raw, err := os.ReadFile(filepath.Join(out, "1.eml"))
	require.NoError(t, err)
	m, err := Parse(to(t, "ada").Body)
	require.NoError(t, err)
	want, _, err := m.write(conf.From)
	require.NoError(t, err)
	assert.Equal(t, string(bytes.ReplaceAll(want, []byte("\r\n"), []byte("\n"))), string(bytes.ReplaceAll(raw, []byte("\r\n"), []byte("\n"))), "as written, dots at the beginning of lines too")
	msg, err := mail.ReadMessage(bytes.NewReader(raw))
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(msg.Header.Get("Content-Type"), "multipart/mixed"))

	for who, c := range map[string]struct {
		cause           string
		permanent, down bool
	}{
		"full": {"smtp-452", false, false}, "nobody": {"smtp-550", true, false}, "later": {"smtp-451", false, false},
		"refused": {"smtp-554", true, false}, "drop": {"smtp-broken", false, true},
	} {
		failsTo(t, s, who, c.cause, c.permanent, c.down)
	}
	conf.Timeout = 500 * time.Millisecond
	failsTo(t, sender(t, conf), "hang", "smtp-timeout", false, true)
}

// TestOpenSMTPD sends to the daemon of Debian.
func TestOpenSMTPD(t *testing.T) {
	program := "/usr/sbin/smtpd"
	if _, err := os.Stat(program); err != nil {
		lacks(t, "opensmtpd")
	}
	if os.Getuid() != 0 {
		t.Skip("opensmtpd starts as root alone")
	}
	dir, port := t.TempDir(), freePort(t)
	require.NoError(t, os.Chmod(dir, 0o755)) //nolint:gosec // the daemon's own users read it
	box := filepath.Join(dir, "box")
	aliases := filepath.Join(dir, "users")
	require.NoError(t, os.WriteFile(aliases, []byte("ada@ground.example root\n"), 0o644)) //nolint:gosec // not secret
	conf := filepath.Join(dir, "smtpd.conf")
	require.NoError(t, os.WriteFile(conf, fmt.Appendf(nil, `
table users file:%s
queue ttl 1m
listen on 127.0.0.1 port %d
action "box" mda "cat >> %s" virtual <users>
match from any for domain "ground.example" action "box"
`, aliases, port, box), 0o644)) //nolint:gosec // not secret
	if out, err := exec.Command(program, "-n", "-f", conf).CombinedOutput(); err != nil {
		t.Skipf("this opensmtpd does not take the test's configuration: %s", out)
	}
	cmd := exec.Command(program, "-d", "-f", conf)
	var log bytes.Buffer
	cmd.Stdout, cmd.Stderr = &log, &log
	require.NoError(t, cmd.Start())
	t.Cleanup(func() { _ = cmd.Process.Signal(os.Interrupt) }) // harmless once it has ended
	answers(t, port)
	s := sender(t, Config{Host: "127.0.0.1", Port: port, TLS: NoTLS, From: "The beds <beds@ground.example>", Hello: "ground.example", Timeout: 10 * time.Second})
	require.NoError(t, s.Send(t.Context(), to(t, "ada")), "%s", &log)
	failsTo(t, s, "nobody", "smtp-524", true, false)
	d := to(t, "ada")
	m, err := Parse(d.Body)
	require.NoError(t, err)
	m.To = "ada@elsewhere.example"
	d.Body = encodeMail(t, m)
	assert.Error(t, s.Send(t.Context(), d), "it relays nothing")
	require.NoError(t, cmd.Process.Signal(os.Interrupt))
	_ = cmd.Wait()
	assert.Contains(t, log.String(), "nrcpt=1", "it has the mail in its queue")
}

func failsTo(t *testing.T, s *Sender, who, cause string, permanent, down bool) {
	t.Helper()
	err := s.Send(t.Context(), to(t, who))
	var e *alerts.SendError
	require.ErrorAs(t, err, &e, who)
	assert.Equal(t, []any{cause, permanent, down}, []any{e.Cause, e.Permanent, e.Down}, "%s: %v", who, err)
}
