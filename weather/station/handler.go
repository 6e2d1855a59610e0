package station

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"
)

// Inbox is one station that sends to us over HTTP.
type Inbox struct {
	Token Token
	Zone  *time.Location // for the console's midnight

	mu    sync.Mutex
	gauge *Gauge
}

// Take is called with the readings that a station sent. Its error is answered
// with 503, and a station that can keeps them and sends again.
type Take func(ctx context.Context, station string, obs []Observation) error

// Handler takes readings over HTTP. Mount it where the path has a {station}:
//
//	POST .../{station}          the JSON document, Authorization: Bearer TOKEN
//	GET, POST .../{station}/console   a console's form, token in PASSWORD or PASSKEY
//
// A console's token stands in the address: do not log its query.
type Handler struct {
	stations map[string]*Inbox
	take     Take
	now      func() time.Time
}

// NewHandler returns a handler for the stations, by name.
func NewHandler(stations map[string]*Inbox, take Take, now func() time.Time) *Handler {
	return &Handler{stations: stations, take: take, now: now}
}

// The bounds of a request.
const (
	maxDocument = 1 << 20
	maxForm     = 16 << 10
	oldest      = 31 * 24 * time.Hour // a station may send a month again after an outage
)

// ServeJSON takes the JSON document. It answers 204, or 400 with {"error": why},
// 401, 413 or 503.
func (h *Handler) ServeJSON(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("station")
	given, _ := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
	if _, ok := h.allowed(name, given); !ok {
		refuse(w, http.StatusUnauthorized, "no such station, or a wrong token; send it as \"Authorization: Bearer TOKEN\"")
		return
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxDocument))
	if err != nil {
		refuse(w, tooLarge(err), fmt.Sprintf("the document could not be read, or has more than %d bytes", maxDocument))
		return
	}
	obs, err := Decode(body)
	if err == nil {
		err = h.timely(obs)
	}
	if err != nil {
		refuse(w, http.StatusBadRequest, err.Error())
		return
	}
	h.finish(w, r, name, obs, func() { w.WriteHeader(http.StatusNoContent) })
}

// ServeConsole takes a console's form. It answers "success" in plain text, as
// consoles expect.
func (h *Handler) ServeConsole(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	if err := r.ParseForm(); err != nil {
		refuse(w, tooLarge(err), "the form cannot be read")
		return
	}
	name := r.PathValue("station")
	in, ok := h.allowed(name, first(r.Form, "PASSWORD", "PASSKEY"))
	if !ok {
		refuse(w, http.StatusUnauthorized, "no such station, or a wrong PASSWORD or PASSKEY")
		return
	}
	in.mu.Lock()
	if in.gauge == nil {
		in.gauge = &Gauge{Zone: in.Zone}
	}
	had := *in.gauge
	o, err := DecodeConsole(r.Form, h.now(), in.gauge)
	if err == nil {
		err = h.timely([]Observation{o})
	}
	if err != nil {
		*in.gauge = had // a wrong clock must not move it
	}
	in.mu.Unlock()
	if err != nil {
		refuse(w, http.StatusBadRequest, err.Error())
		return
	}
	h.finish(w, r, name, []Observation{o}, func() { _, _ = io.WriteString(w, "success\n") })
}

func (h *Handler) finish(w http.ResponseWriter, r *http.Request, name string, obs []Observation, good func()) {
	if err := h.take(r.Context(), name, obs); err != nil {
		w.Header().Set("Retry-After", "60")
		refuse(w, http.StatusServiceUnavailable, "not stored; send it again")
		return
	}
	good()
}

// allowed looks a station up. An unknown one costs as much time as a known one.
func (h *Handler) allowed(name, given string) (*Inbox, bool) {
	in, ok := h.stations[name]
	if !ok {
		in = &Inbox{}
	}
	return in, in.Token.Matches(given) && ok
}

// timely refuses readings of a clock that is wrong.
func (h *Handler) timely(obs []Observation) error {
	now := h.now()
	for i, o := range obs {
		if o.Time.After(now.Add(Ahead)) || now.Sub(o.Time) > oldest {
			return fmt.Errorf("observation %d: its time is %s and ours %s; check the station's clock and zone, or import older readings from a file", i+1, o.Time.Format(time.RFC3339), now.UTC().Format(time.RFC3339))
		}
	}
	return nil
}

func refuse(w http.ResponseWriter, status int, why string) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(map[string]string{"error": why})
}

func tooLarge(err error) int {
	var big *http.MaxBytesError
	if errors.As(err, &big) {
		return http.StatusRequestEntityTooLarge
	}
	return http.StatusBadRequest
}

func first(f url.Values, names ...string) string {
	for _, n := range names {
		if v := f.Get(n); v != "" {
			return v
		}
	}
	return ""
}
