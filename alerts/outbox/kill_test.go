package outbox

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"net/mail"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/alerts/email"
	"plotwarden/alerts/smtptest"
	"plotwarden/store"
	"plotwarden/store/sqlite"
)

// doomed kills its own process around a delivery: before the mail is offered,
// or after it was taken and before that is recorded.
type doomed struct {
	inner  Sender
	random *rand.Rand
}

func (d doomed) Send(ctx context.Context, m store.Delivery) error {
	if d.random.IntN(10) == 0 {
		die()
	}
	err := d.inner.Send(ctx, m)
	if err == nil && d.random.IntN(4) == 0 {
		die()
	}
	return err
}

func die() {
	_ = syscall.Kill(os.Getpid(), syscall.SIGKILL)
	select {}
}

// deliverAndDie is the life of the killed process: a pass at the given hour.
func deliverAndDie(args string) {
	f := strings.Split(args, "|") // path, port, seconds since t0, seed
	fail := func(err error) {
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(3)
		}
	}
	port, err := strconv.Atoi(f[1])
	fail(err)
	seconds, err := strconv.Atoi(f[2])
	fail(err)
	seed, err := strconv.ParseUint(f[3], 10, 64)
	fail(err)
	s, err := sqlite.Open(context.Background(), f[0])
	fail(err)
	sender, err := email.NewSender(email.Config{Host: "127.0.0.1", Port: port, TLS: email.NoTLS, From: "beds@ground.example", Timeout: 5 * time.Second})
	fail(err)
	now := t0.Add(time.Duration(seconds) * time.Second)
	w := Worker{Store: s, Senders: map[string]Sender{"email": doomed{sender, rand.New(rand.NewPCG(seed, 0))}}}
	fail(errors.Join(w.Deliver(context.Background(), now), s.Close()))
	os.Exit(0)
}

const killEnv = "OUTBOX_WORKER"

// TestKilledBetweenTakingAndRecording delivers over a real SMTP session from
// processes that die again and again, to a server that fails now and then.
// Every message arrives; what arrives twice bears the same Message-ID and is the
// same byte for byte, so that a receiver that counts by Message-ID has each
// once.
func TestKilledBetweenTakingAndRecording(t *testing.T) {
	if args := os.Getenv(killEnv); args != "" {
		deliverAndDie(args)
	}
	messages := 60
	if testing.Short() {
		messages = 10
	}
	path := filepath.Join(t.TempDir(), "plot.db")
	s := open(t, path)
	put(t, s, messages)
	server := smtptest.Start(t, smtptest.Plain)
	var n atomic.Int64 // sessions of a killed process may still be open
	server.OnData(func(smtptest.Mail) error {
		switch n.Add(1) % 11 {
		case 3:
			return smtptest.Answer(451, 4, 3, 0, "try later")
		case 7:
			return smtptest.ErrDrop
		}
		return nil
	})
	exe, err := os.Executable()
	require.NoError(t, err)
	kills, runs := 0, 0
	for ; ; runs++ {
		stats, err := s.OutboxStats(t.Context())
		require.NoError(t, err)
		assert.Zero(t, stats.Failed)
		if stats.Sent == messages {
			break
		}
		require.Less(t, runs, 20*messages, "it does not come to an end: %+v", stats)
		cmd := exec.Command(exe, "-test.run=^"+t.Name()+"$")
		cmd.Env = append(os.Environ(), fmt.Sprintf("%s=%s|%d|%d|%d", killEnv, path, server.Port(), runs*int((store.Lease+time.Second)/time.Second), runs))
		out, err := cmd.CombinedOutput()
		var exit *exec.ExitError
		switch {
		case err == nil:
		case errors.As(err, &exit) && exit.Sys().(syscall.WaitStatus).Signal() == syscall.SIGKILL:
			kills++
		default:
			require.NoError(t, err, string(out))
		}
	}
	first := map[string][]byte{}
	copies := 0
	for _, m := range server.Got() {
		parsed, err := mail.ReadMessage(bytes.NewReader(m.Raw))
		require.NoError(t, err)
		id := parsed.Header.Get("Message-ID")
		if have, again := first[id]; again {
			copies++
			assert.Equal(t, string(have), string(m.Raw))
			continue
		}
		first[id] = m.Raw
	}
	assert.Len(t, first, messages)
	assert.Greater(t, kills, 0)
	t.Logf("%d messages, %d processes of which %d were killed: %d distinct mails arrived, %d copies under the same Message-ID, none lost", messages, runs, kills, len(first), copies)
}
