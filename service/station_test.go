package service

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	broker "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/listeners"
	"github.com/mochi-mqtt/server/v2/packets"
	"github.com/prometheus/client_golang/prometheus/testutil"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/weather"
	"plotwarden/weather/station"
)

const shedToken = "0123456789abcdef"

func shed(t *testing.T, mqtt *station.MQTT) *Station {
	t.Helper()
	token, err := station.NewToken(shedToken)
	require.NoError(t, err)
	return NewStation("shed", "lakeside", token, mqtt)
}

func (b *small) at(t *testing.T, at time.Time) (temp float64, o weather.Origin) {
	t.Helper()
	s, err := b.store.LoadWeather(t.Context(), b.site.ID, at, at.Add(time.Hour))
	require.NoError(t, err)
	o, _ = s.OriginAt(weather.Temp, 0)
	return s.Value(weather.Temp, 0), o
}

func TestStationOverHTTP(t *testing.T) {
	now := time.Date(2026, 7, 14, 10, 10, 0, 0, time.UTC)
	b := newSmall(t, now, lakeside, shed(t, nil))
	pages := http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusTeapot) })
	h := b.svc.StationHandler(pages)
	send := func(method, path, token, body string) *httptest.ResponseRecorder {
		r := httptest.NewRequest(method, path, strings.NewReader(body))
		r.Header.Set("Authorization", "Bearer "+token)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w
	}
	doc := `{"time": "2026-07-14T10:00:00Z", "temperature_c": 21.4, "humidity_pct": 90}`
	assert.Equal(t, http.StatusUnauthorized, send("POST", "/station/shed", "a guess of sixteen", doc).Code)
	assert.Equal(t, http.StatusUnauthorized, send("POST", "/station/barn", shedToken, doc).Code)
	assert.Equal(t, http.StatusBadRequest, send("POST", "/station/shed", shedToken, `{"time": "now"}`).Code)
	assert.Equal(t, http.StatusTeapot, send("GET", "/", "", "").Code, "the pages stay where they are")
	require.Equal(t, http.StatusNoContent, send("POST", "/station/shed", shedToken, doc).Code)
	temp, o := b.at(t, now)
	assert.Equal(t, 21.4, temp)
	assert.Equal(t, weather.Origin{Source: "shed", Kind: weather.Station, Fetched: now}, o)
	assert.Equal(t, now, b.status(t, "shed").LastGood)

	// A console puts all, its token too, into the address.
	b.now = now.Add(time.Hour)
	w := send("GET", "/station/shed/console?PASSWORD="+shedToken+"&dateutc=2026-07-14+11:01:00&tempf=50&humidity=80", "", "")
	assert.Equal(t, "success\n", w.Body.String())
	temp, _ = b.at(t, b.now)
	assert.InDelta(t, 10, temp, 1e-9)
	assert.NotContains(t, b.log.String(), shedToken)
	assert.NotContains(t, b.log.String(), "tempf")
	assert.Equal(t, 2.0, testutil.ToFloat64(b.svc.o.Metrics.Stations.WithLabelValues("401")))
	assert.Equal(t, 1.0, testutil.ToFloat64(b.svc.o.Metrics.Stations.WithLabelValues("204")))

	// A value that cannot be is set aside; the rest of the reading is kept.
	b.now = now.Add(2 * time.Hour)
	require.Equal(t, http.StatusNoContent, send("POST", "/station/shed", shedToken, `{"time": "2026-07-14T12:00:00Z", "temperature_c": 21, "wind_ms": 400}`).Code)
	s, err := b.store.LoadWeather(t.Context(), "lakeside", b.now, b.now.Add(time.Hour))
	require.NoError(t, err)
	assert.Equal(t, 21.0, s.Value(weather.Temp, 0))
	assert.Nil(t, s.Column(weather.Wind))
	assert.Equal(t, 1.0, testutil.ToFloat64(b.svc.o.Metrics.Rejects.WithLabelValues("wind")))
}

// What cannot be stored is answered with 503, so that the station sends it again.
func TestStationWhoseReadingsCannotBeStored(t *testing.T) {
	now := time.Date(2026, 7, 14, 10, 10, 0, 0, time.UTC)
	b := newSmall(t, now, lakeside, shed(t, nil))
	b.svc.o.Store = brokenStore{b.svc.o.Store}
	r := httptest.NewRequest("POST", "/station/shed", strings.NewReader(`{"time": "2026-07-14T10:00:00Z", "temperature_c": 21.4}`))
	r.Header.Set("Authorization", "Bearer "+shedToken)
	w := httptest.NewRecorder()
	b.svc.StationHandler(http.NotFoundHandler()).ServeHTTP(w, r)
	assert.Equal(t, http.StatusServiceUnavailable, w.Code)
	assert.Contains(t, b.status(t, "shed").LastErr, "the disk is full")
}

type brokenStore struct{ Store }

func (brokenStore) SaveWeather(context.Context, string, *weather.Series) error {
	return fmt.Errorf("the disk is full")
}

func TestSilentStation(t *testing.T) {
	now := time.Date(2026, 7, 14, 10, 10, 0, 0, time.UTC)
	st := shed(t, nil)
	b := newSmall(t, now, lakeside, st)
	require.NoError(t, b.svc.Refresh(t.Context()))
	status := b.status(t, "shed")
	assert.Equal(t, Silent, status.Cause)
	assert.Equal(t, "shed: silent: nothing has come from it yet", status.LastErr)

	obs, err := station.Decode([]byte(`{"time": "2026-07-14T10:00:00Z", "temperature_c": 21.4}`))
	require.NoError(t, err)
	require.NoError(t, b.svc.take(t.Context(), st, obs))
	b.now = now.Add(24 * time.Hour)
	require.NoError(t, b.svc.Refresh(t.Context()))
	assert.Empty(t, b.status(t, "shed").LastErr, "as old as weather may be")
	b.now = now.Add(25 * time.Hour)
	require.NoError(t, b.svc.Refresh(t.Context()))
	status = b.status(t, "shed")
	assert.Equal(t, "shed: silent: nothing has come from it since 14 July 06:10, more than 24 hours", status.LastErr)
	assert.Equal(t, 1, status.Consecutive)
	assert.Equal(t, now, status.LastGood)
}

// openDoor lets everyone in.
type openDoor struct{ broker.HookBase }

func (*openDoor) ID() string { return "open" }

func (*openDoor) Provides(b byte) bool {
	return b == broker.OnConnectAuthenticate || b == broker.OnACLCheck
}

func (*openDoor) OnConnectAuthenticate(*broker.Client, packets.Packet) bool { return true }

func (*openDoor) OnACLCheck(*broker.Client, string, bool) bool { return true }

func TestStationOverMQTT(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	addr := l.Addr().String()
	require.NoError(t, l.Close())
	srv := broker.New(&broker.Options{InlineClient: true, Logger: slog.New(slog.NewTextHandler(io.Discard, nil))})
	require.NoError(t, srv.AddHook(&openDoor{}, nil))
	require.NoError(t, srv.AddListener(listeners.NewTCP(listeners.Config{ID: "t", Address: addr})))
	require.NoError(t, srv.Serve())
	t.Cleanup(func() { assert.NoError(t, srv.Close()) })

	now := time.Date(2026, 7, 14, 10, 10, 0, 0, time.UTC)
	b := newSmall(t, now, lakeside, shed(t, &station.MQTT{Broker: "mqtt://" + addr, Topic: "beds/shed", ClientID: "plotwarden-test"}))
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan struct{})
	go func() {
		b.svc.Listen(ctx)
		close(ended)
	}()
	require.Eventually(t, func() bool { // until it has subscribed nothing is heard
		assert.NoError(t, srv.Publish("beds/shed", []byte(`{"observations": [
			{"time": "2026-07-14T10:00:00Z", "temperature_c": 21.4},
			{"time": "2031-07-14T10:00:00Z", "temperature_c": 30}]}`), false, 1))
		s, err := b.store.LoadWeather(t.Context(), "lakeside", now, now.Add(time.Hour))
		return err == nil && s.Value(weather.Temp, 0) == 21.4
	}, 10*time.Second, 50*time.Millisecond)
	stop()
	<-ended
	assert.Contains(t, b.log.String(), "station's readings left out; check its clock and zone")
	s, err := b.store.LoadWeather(t.Context(), "lakeside", now.AddDate(5, 0, 0), now.AddDate(5, 0, 1))
	require.NoError(t, err)
	assert.Nil(t, s.Column(weather.Temp))
}
