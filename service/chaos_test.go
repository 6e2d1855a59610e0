package service

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"net/mail"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/alerts/email"
	"plotwarden/alerts/smtptest"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/catalog"
	"plotwarden/service/config"
	"plotwarden/store"
	"plotwarden/store/sqlite"
)

const (
	chaosKills = "PLOTWARDEN_CHAOS"       // how many kills; 1000 is the whole test
	chaosChild = "PLOTWARDEN_CHAOS_CHILD" // set in the process that is killed
)

var seasonStarts = time.Date(2026, 4, 1, 0, 0, 0, 0, time.UTC)

const chaosClock = "simulated hour"

// TestKilledThroughASeason runs a season of mornings for many people and kills
// the processes that compose and deliver them again and again with SIGKILL, at
// any point. Two run on one store at a time, and the clock of one of them may
// stand hours before or behind. A mail server on the way fails now and then, also after it has
// taken a mail. In the end the receiver has every due message, known by its
// Message-ID, and none that was not due; what came twice came under one
// Message-ID and is the same byte for byte.
func TestKilledThroughASeason(t *testing.T) {
	if args := os.Getenv(chaosChild); args != "" {
		liveThroughASeason(args)
	}
	kills, people, days := 12, 20, 10
	if n, err := strconv.Atoi(os.Getenv(chaosKills)); err == nil && n > 0 {
		kills, people, days = n, 200, 120
	}
	server := smtptest.Start(t, smtptest.Plain)
	mails := 0
	copies := map[string][]string{} // what the server took, by Message-ID
	var mu sync.Mutex               // sessions of a killed process may still be open
	server.OnData(func(m smtptest.Mail) error {
		mu.Lock()
		defer mu.Unlock()
		mails++
		if mails%97 == 31 {
			return smtptest.Answer(451, 4, 3, 0, "later")
		}
		head, err := mail.ReadMessage(bytes.NewReader(m.Raw))
		if err != nil {
			return err
		}
		id := strings.Trim(head.Header.Get("Message-ID"), "<>")
		copies[id] = append(copies[id], string(m.Raw))
		if mails%97 == 62 {
			return smtptest.ErrDrop
		}
		return nil
	})
	path := filepath.Join(t.TempDir(), "plot.db")
	exe, err := os.Executable()
	require.NoError(t, err)
	start := func(lastDay, jump int) (*exec.Cmd, *bytes.Buffer) {
		cmd := exec.Command(exe, "-test.run=^TestKilledThroughASeason$")
		cmd.Env = append(os.Environ(), fmt.Sprintf("%s=%s|%d|%d|%d|%d", chaosChild, path, server.Port(), people, lastDay, jump))
		out := &bytes.Buffer{}
		cmd.Stdout, cmd.Stderr = out, out
		require.NoError(t, cmd.Start())
		return cmd, out
	}
	random := rand.New(rand.NewPCG(7, 11))
	jumps := []int{0, 0, 3, -5, -30} // hours
	kill := func(cmd *exec.Cmd, out *bytes.Buffer) {
		require.NoError(t, cmd.Process.Signal(syscall.SIGKILL), "it had ended by itself: %s", out)
		_ = cmd.Wait() // killed
		require.NotContains(t, out.String(), "panic")
	}
	for range (kills + 1) / 2 {
		one, said := start(1<<20, 0) // the season goes on as long as the kills do
		two, also := start(1<<20, jumps[random.IntN(len(jumps))])
		time.Sleep(time.Duration(50+random.IntN(700)) * time.Millisecond)
		kill(one, said)
		time.Sleep(time.Duration(random.IntN(100)) * time.Millisecond)
		kill(two, also)
	}
	st, err := sqlite.Open(t.Context(), path)
	require.NoError(t, err)
	last := max(days, int(simulated(t.Context(), st).Sub(seasonStarts)/(24*time.Hour))+1)
	require.NoError(t, st.Close())
	cmd, out := start(last, 0)
	require.NoError(t, cmd.Wait(), "%s", out)

	st, err = sqlite.Open(t.Context(), path)
	require.NoError(t, err)
	defer st.Close()
	due, twice, lost := 0, 0, 0
	for i := range people {
		list, err := st.Newest(t.Context(), "north", chaosPerson(i), email.Channel, 1<<20)
		require.NoError(t, err)
		assert.Len(t, list, last, "one morning a day for %s", chaosPerson(i))
		for _, d := range list {
			due++
			m, err := email.Parse(d.Body)
			require.NoError(t, err)
			got := copies[m.ID]
			delete(copies, m.ID)
			assert.Equal(t, store.Sent, d.State, d.Key)
			if assert.NotEmpty(t, got, "lost: %s", d.Key) {
				twice += len(got) - 1
				for _, again := range got[1:] {
					assert.Equal(t, got[0], again, "%s came twice and differs", d.Key)
				}
			} else {
				lost++
			}
		}
	}
	assert.Equal(t, people*last, due)
	assert.Empty(t, copies, "nothing came that was not due")
	t.Logf("killed %d times in %d simulated days with %d people, two processes at a time: due %d, sent %d, lost %d, double %d (under one Message-ID, byte for byte the same), not due %d",
		2*((kills+1)/2), last, people, due, due-lost, lost, twice, len(copies))
}

func chaosPerson(i int) string { return fmt.Sprintf("person-%d", i) }

// simulated is the hour that the simulation has come to.
func simulated(ctx context.Context, st *sqlite.Store) time.Time {
	raw, err := st.Kept(ctx, chaosClock)
	if err != nil {
		return seasonStarts
	}
	hours, err := strconv.Atoi(string(raw))
	if err != nil {
		panic(err)
	}
	return seasonStarts.Add(time.Duration(hours) * time.Hour)
}

// liveThroughASeason is the life of the process that is killed: a round and a
// delivery for each simulated hour, from where the one before came to.
func liveThroughASeason(args string) {
	fail := func(err error) {
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(3)
		}
	}
	f := strings.Split(args, "|") // path, port, people, last day, hours that the clock stands off
	var n [4]int
	for i := range n {
		var err error
		n[i], err = strconv.Atoi(f[i+1])
		fail(err)
	}
	ctx := context.Background()
	st, err := sqlite.Open(ctx, f[0])
	fail(err)
	cat, err := catalog.Load()
	fail(err)
	cfg := config.Defaults()
	cfg.Mail = config.Mail{Host: "127.0.0.1", Port: n[0], TLS: config.NoTLS, From: "beds@plot.example"}
	cfg.Sites = []garden.Site{{ID: "north", Name: "North", Zone: "Etc/UTC", Plots: []garden.Plot{{ID: "a", Name: "Bed A", Plantings: []garden.Planting{{ID: "tom", Crop: "tomato"}}}}}}
	for i := range n[1] {
		cfg.People = append(cfg.People, garden.Person{ID: chaosPerson(i), Email: chaosPerson(i) + "@plot.example", Sites: []string{"north"}})
	}
	off := time.Duration(n[3]) * time.Hour
	now := simulated(ctx, st).Add(off)
	m, err := newMessenger(ctx, &Host{o: HostOptions{Config: &cfg, Catalogue: cat, Log: slog.New(slog.DiscardHandler), Now: func() time.Time { return now }}, store: st}, &cfg, NewMetrics("test"), nil)
	fail(err)
	for end := seasonStarts.Add(time.Duration(n[2]) * 24 * time.Hour); ; {
		now = simulated(ctx, st).Add(off)
		if now.Before(seasonStarts) {
			now = seasonStarts // nothing was before it
		}
		if !now.Before(end) {
			break
		}
		r := store.Round{Site: "north", At: now, Assessments: []plan.Assessment{{
			Site: "north", Planting: "tom", Threat: "late-blight", Round: now, WeatherUntil: now,
			Readiness: []plan.Readiness{plan.Approaching, plan.Act, plan.Quiet}[now.YearDay()%3], Reason: plan.Reason{Code: "x", Text: "Invented"},
		}}}
		r.Messages, err = m.Compose(ctx, &cfg.Sites[0], now, &r)
		fail(err)
		fail(errors.Join(st.SaveRound(ctx, r), m.Deliver(ctx, now)))
		if off == 0 { // the true clock goes on
			fail(st.Keep(ctx, chaosClock, fmt.Append(nil, int(now.Add(time.Hour).Sub(seasonStarts)/time.Hour))))
		}
	}
	// What failed in the last hours is tried again.
	for range 48 {
		fail(m.Deliver(ctx, now))
		now = now.Add(time.Hour)
	}
	fail(st.Close())
	os.Exit(0)
}
