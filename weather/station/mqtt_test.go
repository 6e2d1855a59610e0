package station

import (
	"context"
	"io"
	"log/slog"
	"net"
	"strings"
	"testing"
	"time"

	broker "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/listeners"
	"github.com/mochi-mqtt/server/v2/packets"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/weather"
)

// door lets in one user.
type door struct{ broker.HookBase }

func (*door) ID() string { return "door" }

func (*door) Provides(b byte) bool {
	return b == broker.OnConnectAuthenticate || b == broker.OnACLCheck
}

func (*door) OnConnectAuthenticate(_ *broker.Client, p packets.Packet) bool {
	return string(p.Connect.Username) == "warden" && string(p.Connect.Password) == secret
}

func (*door) OnACLCheck(*broker.Client, string, bool) bool { return true }

// startBroker runs a real broker that lets in one user, on a given address.
func startBroker(t *testing.T, addr string) *broker.Server {
	t.Helper()
	srv := broker.New(&broker.Options{InlineClient: true, Logger: slog.New(slog.NewTextHandler(io.Discard, nil))})
	require.NoError(t, srv.AddHook(&door{}, nil))
	require.NoError(t, srv.AddListener(listeners.NewTCP(listeners.Config{ID: "t", Address: addr})))
	require.NoError(t, srv.Serve())
	return srv
}

func freeAddress(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer func() { _ = l.Close() }()
	return l.Addr().String()
}

func TestListen(t *testing.T) {
	addr := freeAddress(t)
	srv := startBroker(t, addr)
	m := MQTT{Broker: "mqtt://" + addr, Topic: "garden/beds", ClientID: "plotwarden-test", User: "warden", Password: secret}
	got := make(chan []Observation, 10)
	faults := make(chan error, 100)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() {
		done <- m.Listen(ctx, func(o []Observation) { got <- o }, func(err error) { faults <- err })
	}()
	// Until it has subscribed, what is published is not for us.
	publish := func(srv *broker.Server, payload string) func() bool {
		return func() bool {
			assert.NoError(t, srv.Publish("garden/beds", []byte(payload), false, 1))
			select {
			case o := <-got:
				return assert.Len(t, o, 1) && assert.Equal(t, 21.4, o[0].Values[weather.Temp])
			case <-time.After(50 * time.Millisecond):
				return false
			}
		}
	}
	require.Eventually(t, publish(srv, documented), 10*time.Second, 10*time.Millisecond)

	require.NoError(t, srv.Publish("garden/beds", []byte(`{"tme":1}`), false, 1))
	require.ErrorContains(t, <-faults, "mqtt: message on garden/beds: no time")
	require.NoError(t, srv.Publish("garden/beds", []byte(`{"x":"`+strings.Repeat("x", maxMessage)+`"}`), false, 1))
	require.ErrorContains(t, <-faults, "at most 65536 are read")

	// The broker goes away and comes back: it subscribes again by itself.
	require.NoError(t, srv.Close())
	require.ErrorContains(t, <-faults, "connection lost")
	srv = startBroker(t, addr)
	// A try may have met the old broker as it closed, and wait for its answer.
	require.Eventually(t, publish(srv, documented), 6*connectWait, 10*time.Millisecond)
	cancel()
	require.NoError(t, <-done)
	require.NoError(t, srv.Close())
}

func TestListenRefuses(t *testing.T) {
	nothing := func([]Observation) {}
	fault := func(error) {}
	addr := freeAddress(t)
	good := MQTT{Broker: "mqtt://" + addr, Topic: "a/b", ClientID: "c"}
	for want, change := range map[string]func(m *MQTT){
		`broker "http://x"`: func(m *MQTT) { m.Broker = "http://x" },
		"broker":            func(m *MQTT) { m.Broker = "" },
		"want one topic":    func(m *MQTT) { m.Topic = "a/#" },
		"client id":         func(m *MQTT) { m.ClientID = "" },
		"mqtt: connect to":  func(*MQTT) {}, // nobody listens
	} {
		m := good
		change(&m)
		assert.ErrorContains(t, m.Listen(context.Background(), nothing, fault), want)
	}
	srv := startBroker(t, addr)
	t.Cleanup(func() { assert.NoError(t, srv.Close()) })
	bad := good
	bad.User, bad.Password = "warden", "guess"
	err := bad.Listen(context.Background(), nothing, fault)
	require.ErrorContains(t, err, "mqtt: connect to")
	assert.NotContains(t, err.Error(), "guess")
}
