package service

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"net"
	"net/mail"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/alerts/inbox"
	"plotwarden/civil"
	"plotwarden/store"
	"plotwarden/store/sqlite"
	"plotwarden/weather/faultserver"
)

// killedConfig is a ground with two people whose digest has been due since
// midnight, so that every start composes and sends it.
const killedConfig = `
store: plotwarden.db
listen: 127.0.0.1:0
weather:
  history_years: 1
  contact: test@plot.example
  sources:
    - kind: open-meteo
      forecast_url: %s
      archive_url: %s
mail: {host: 127.0.0.1, port: %s, tls: none, from: beds@plot.example}
digest: {at: "00:00"}
sites:
  - id: north
    name: North
    latitude: 42
    longitude: -76
    zone: Etc/UTC
    plots:
      - id: a
        name: Bed A
        plantings:
          - {id: kale, crop: kale, planted_out: %s}
          - {id: tomatoes, crop: tomato, planted_out: %[4]s}
people:
  - {id: ada, name: Ada, email: ada@plot.example, sites: [north]}
  - {id: bo, name: Bo, email: bo@plot.example, sites: [north]}
`

// The service is killed at random moments of its first round and delivery, many
// times, and started again. In the end each person has the morning's message,
// known everywhere by one Message-ID, and the store holds a whole round.
func TestKilledAndStartedAgain(t *testing.T) {
	dir := t.TempDir()
	program := filepath.Join(dir, "plotwarden")
	out, err := exec.Command("go", "build", "-o", program, "plotwarden/cmd/plotwarden").CombinedOutput()
	require.NoError(t, err, "%s", out)
	server, err := faultserver.Start(time.Now)
	require.NoError(t, err)
	defer server.Stop()
	box, err := inbox.Listen("127.0.0.1:0", filepath.Join(dir, "mail"))
	require.NoError(t, err)
	defer box.Close()
	_, port, err := net.SplitHostPort(box.Addr())
	require.NoError(t, err)
	file := filepath.Join(dir, "plotwarden.yaml")
	planted := civil.Of(time.Now(), time.UTC).AddDays(-20)
	require.NoError(t, os.WriteFile(file, fmt.Appendf(nil, killedConfig, server.URL("/v1/forecast"), server.URL("/v1/archive"), port, planted), 0o600))

	random := rand.New(rand.NewPCG(1, 2))
	const kills = 25
	for range kills {
		cmd := exec.Command(program, "serve", "--config", file)
		var log bytes.Buffer
		cmd.Stderr = &log
		require.NoError(t, cmd.Start())
		// From before the store is open to after the delivery.
		time.Sleep(time.Duration(random.IntN(900)) * time.Millisecond)
		require.NoError(t, cmd.Process.Signal(syscall.SIGKILL), "it had ended by itself: %s", &log)
		_ = cmd.Wait() // killed
	}
	// One last run to its end. A message whose attempt was cut short stays with
	// that attempt for its lease and is then tried again under the same Message-ID.
	cmd := exec.Command(program, "refresh", "--config", file)
	log, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", log)
	st, err := sqlite.Open(t.Context(), filepath.Join(dir, "plotwarden.db"))
	require.NoError(t, err)
	defer st.Close()
	r, err := st.LatestRound(t.Context(), "north")
	require.NoError(t, err)
	assert.NotEmpty(t, r.Assessments)

	seen := map[string]int{}
	files, err := box.Files()
	require.NoError(t, err)
	for _, f := range files {
		raw, err := os.ReadFile(f)
		require.NoError(t, err)
		m, err := mail.ReadMessage(bytes.NewReader(raw))
		require.NoError(t, err)
		seen[m.Header.Get("To")+" "+m.Header.Get("Message-ID")]++
	}
	messages, err := st.Deliveries(t.Context(), "north", 10)
	require.NoError(t, err)
	today := civil.Of(time.Now(), time.UTC).Start(time.UTC)
	n := 0
	for _, d := range messages {
		if !d.Slot.Equal(today) {
			continue // the test ran over midnight
		}
		n++
		assert.Contains(t, []string{store.Sent, store.Sending}, d.State, "%s: %s", d.Key, d.LastErr)
	}
	assert.Equal(t, 2, n, "one message for each of two people")
	assert.LessOrEqual(t, len(seen), 4, "one Message-ID a person and day: %v", seen)
	assert.GreaterOrEqual(t, len(seen), 1)
	t.Logf("killed %d times; mails by Message-ID: %v", kills, seen)
}
