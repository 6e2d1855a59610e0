package service

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"slices"
	"time"

	"plotwarden/garden"
	"plotwarden/service/config"
	"plotwarden/store"
	"plotwarden/weather/source"
	"plotwarden/weather/station"
)

// Station makes a Source of a grower's own station, which sends by itself.
type Station struct {
	ID    string        // name of the source, in the station's address
	Token station.Token // what it sends by HTTP with; the zero Token lets nobody in
	MQTT  *station.MQTT // nil: it does not publish
	Sites

	collector *station.Collector
	inbox     *station.Inbox // made when first mounted
	digest    string         // of a token that is in no file
}

// NewStation returns a station of one site. mqtt may be nil.
func NewStation(id, site string, token station.Token, mqtt *station.MQTT) *Station {
	return &Station{ID: id, Token: token, MQTT: mqtt, Sites: Sites{site}, collector: station.NewCollector(id)}
}

func newStation(s *config.Source) (*Station, error) {
	var token station.Token
	text, err := s.Token()
	switch {
	case err != nil:
	case s.Digest != "":
		token, err = station.TokenOf(s.Digest)
	case text != "":
		token, err = station.NewToken(text)
	}
	if err != nil {
		return nil, err
	}
	var mqtt *station.MQTT
	if m := &s.MQTT; m.On() {
		password, err := m.Password()
		if err != nil {
			return nil, err
		}
		mqtt = &station.MQTT{Broker: m.Broker, Topic: m.Topic, ClientID: m.ClientID, User: m.Username, Password: password}
		if err := mqtt.Check(); err != nil {
			return nil, err
		}
	}
	out := NewStation(s.Name, s.Sites[0], token, mqtt)
	out.digest = s.Digest
	return out, nil
}

// Name returns the source's name.
func (s *Station) Name() string { return s.ID }

// Attribution is empty: the readings are the grower's own.
func (s *Station) Attribution() source.Attribution { return source.Attribution{} }

// take makes hours of readings that a station sent, and keeps them after the
// checks. The error says that they are not stored.
func (s *Service) take(ctx context.Context, st *Station, obs []station.Observation) error {
	now := s.o.Now()
	site, ok := s.site(st.Sites[0])
	if !ok {
		return fmt.Errorf("station %s: there is no site %s", st.ID, st.Sites[0])
	}
	log := s.o.Log.With("site", site.ID)
	hours := st.collector.Add(now, obs...)
	if n := hours.Index(now); n+1 < hours.Len() { // a clock that runs fast makes no hours ahead
		hours = hours.Slice(0, n+1)
	}
	err := s.keep(ctx, log, site, st.ID, hours)
	if err != nil {
		err = fmt.Errorf("station %s: %w", st.ID, err)
	}
	s.note(ctx, log, site, st.ID, now, errors.Join(err, s.doubt(ctx, site, st.ID)))
	return err
}

func (s *Service) site(id string) (*garden.Site, bool) {
	i := slices.IndexFunc(s.o.Garden().Sites, func(g garden.Site) bool { return g.ID == id })
	if i < 0 {
		return nil, false
	}
	return &s.o.Garden().Sites[i], true
}

// stations returns the sources that send by themselves.
func (s *Service) stations() []*Station {
	var out []*Station
	for _, src := range s.sources() {
		if st, ok := src.(*Station); ok {
			out = append(out, st)
		}
	}
	return out
}

// StationHandler takes the readings of all stations, at POST /station/{station}
// and /station/{station}/console. Everything else goes to next.
func (s *Service) StationHandler(next http.Handler) http.Handler {
	s.routes.Store(s.stationRoutes())
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if m := s.routes.Load(); m != nil {
			if _, pattern := m.Handler(r); pattern != "" {
				m.ServeHTTP(w, r)
				return
			}
		}
		next.ServeHTTP(w, r)
	})
}

// stationRoutes are the addresses of the stations; nil when there is none.
func (s *Service) stationRoutes() *http.ServeMux {
	byName, inboxes := map[string]*Station{}, map[string]*station.Inbox{}
	for _, st := range s.stations() {
		site, ok := s.site(st.Sites[0])
		if !ok {
			continue
		}
		byName[st.ID] = st
		if st.inbox == nil {
			st.inbox = &station.Inbox{Token: st.Token, Zone: site.Location()}
		}
		inboxes[st.ID] = st.inbox
	}
	if len(byName) == 0 {
		return nil
	}
	h := station.NewHandler(inboxes, func(ctx context.Context, name string, obs []station.Observation) error {
		return s.take(ctx, byName[name], obs)
	}, s.o.Now)
	mux := http.NewServeMux()
	mux.HandleFunc("POST /station/{station}", s.counted(h.ServeJSON))
	mux.HandleFunc("GET /station/{station}/console", s.counted(h.ServeConsole)) // most consoles put the form into the address
	mux.HandleFunc("POST /station/{station}/console", s.counted(h.ServeConsole))
	return mux
}

// counted counts what stations sent by the status they got. It writes no log:
// the address of a console's request holds its token.
func (s *Service) counted(f http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		rec := &statusWriter{ResponseWriter: w, status: http.StatusOK}
		f(rec, r)
		s.o.Metrics.Stations.WithLabelValues(fmt.Sprint(rec.status)).Inc()
	}
}

type statusWriter struct {
	http.ResponseWriter
	status int
}

func (w *statusWriter) WriteHeader(status int) {
	w.status = status
	w.ResponseWriter.WriteHeader(status)
}

// brokerAgain is how long after a failed first connection it is tried again; the
// client connects again by itself once it was connected.
const brokerAgain = time.Minute

// Listen takes what stations publish until ctx ends.
func (s *Service) Listen(ctx context.Context) {
	done := make(chan struct{})
	listening := 0
	for _, st := range s.stations() {
		if st.MQTT == nil {
			continue
		}
		listening++
		go func() {
			s.listen(ctx, st)
			done <- struct{}{}
		}()
	}
	for range listening {
		<-done
	}
}

func (s *Service) listen(ctx context.Context, st *Station) {
	log := s.o.Log.With("site", st.Sites[0], "source", st.ID)
	fault := func(err error) { log.Warn("station's broker", "error", err) }
	for ctx.Err() == nil {
		err := st.MQTT.Listen(ctx, func(obs []station.Observation) {
			if err := s.takePublished(ctx, st, obs); err != nil {
				fault(err)
			}
		}, fault)
		if err == nil {
			return
		}
		fault(err)
		select {
		case <-ctx.Done():
		case <-time.After(brokerAgain):
		}
	}
}

// takePublished is take for readings over MQTT, whose clock nobody has looked at.
func (s *Service) takePublished(ctx context.Context, st *Station, obs []station.Observation) error {
	now := s.o.Now()
	timely := slices.DeleteFunc(slices.Clone(obs), func(o station.Observation) bool {
		return o.Time.After(now.Add(station.Ahead)) || now.Sub(o.Time) > stationOldest
	})
	if len(timely) < len(obs) {
		s.o.Log.Warn("station's readings left out; check its clock and zone", "site", st.Sites[0], "source", st.ID, "count", len(obs)-len(timely))
	}
	if len(timely) == 0 {
		return nil
	}
	return s.take(ctx, st, timely)
}

// stationOldest is as far back as the readings by HTTP may lie.
const stationOldest = 31 * 24 * time.Hour

// Silent is the cause of a station that has not sent for too long.
const Silent = "silent"

// silence notes a station that has not sent for longer than the site's weather
// may be old, once a round.
func (s *Service) silence(ctx context.Context, log *slog.Logger, site *garden.Site, st *Station, now time.Time) {
	var last time.Time
	list, err := s.o.Store.Sources(ctx, site.ID)
	if err != nil {
		log.Error("source status not readable", "source", st.ID, "error", err)
		return
	}
	i := slices.IndexFunc(list, func(x store.SourceStatus) bool { return x.Source == st.ID })
	if i >= 0 {
		last = list[i].LastGood
	}
	after := time.Duration(s.o.Rules.StaleHours) * time.Hour
	switch {
	case last.IsZero():
		err = errors.New("nothing has come from it yet")
	case now.Sub(last) > after:
		err = fmt.Errorf("nothing has come from it since %s, more than %.0f hours", last.In(site.Location()).Format("2 January 15:04"), after.Hours())
	default:
		return
	}
	s.note(ctx, log, site, st.ID, now, &source.Error{Source: st.ID, Cause: Silent, Err: err})
}
