package service

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"sync"
	"sync/atomic"
	"time"

	"plotwarden/ground"
	"plotwarden/plan"
	"plotwarden/risk/catalog"
	"plotwarden/service/config"
	"plotwarden/store"
	"plotwarden/store/engine"
	"plotwarden/store/engines"
	"plotwarden/web/account"
	"plotwarden/web/page"
)

// HostOptions are what a Host is made from.
type HostOptions struct {
	Config    *config.Config
	Catalogue *catalog.Catalogue
	Log       *slog.Logger
	Now       func() time.Time
	Version   string
	Demo      *page.DemoNote // nil outside the demonstration
}

// Host is a whole running program: store, daemon and dashboard.
type Host struct {
	o        HostOptions
	store    engine.Store
	ails     *ailment
	ground   *ground.Ground
	metrics  *Metrics
	budgets  *budgets
	service  *Service
	live     atomic.Pointer[live]
	relive   sync.Mutex   // one change of settings at a time
	inner    http.Handler // what stands behind the messenger's own addresses
	handler  http.Handler
	accounts *account.Accounts
	mux      *page.Mux
	listener net.Listener
	lastGood atomic.Int64 // Unix time of the last round without an error
}

// Open opens the store and wires the parts. Nothing runs yet; Close ends it.
func Open(ctx context.Context, o HostOptions) (*Host, error) {
	password, err := o.Config.StorePassword()
	if err != nil {
		return nil, fmt.Errorf("read the password of the store: %w", err)
	}
	h := &Host{o: o, ails: newAilment(o.Log, o.Now)}
	st, err := engines.Open(ctx, o.Config.Store, engines.Options{Password: password, Watch: h.ails.heard})
	if err != nil {
		return nil, err
	}
	h.store = st
	if err := h.wire(ctx); err != nil {
		return nil, errors.Join(err, st.Close())
	}
	return h, nil
}

func (h *Host) wire(ctx context.Context) error {
	c := h.o.Config
	if err := h.keepLogs(ctx); err != nil {
		return err
	}
	h.metrics = NewMetrics(h.o.Version)
	h.ails.register(h.metrics.Registry)
	var err error
	if h.budgets, err = openBudgets(ctx, h.store, h.o.Log); err != nil {
		return err
	}
	if err := h.openGround(ctx); err != nil {
		return err
	}
	l, err := h.makeLive(ctx)
	if err != nil {
		return err
	}
	h.live.Store(l)
	h.service = New(Options{
		Garden: h.garden, Catalogue: h.o.Catalogue, Store: h.store, Sources: l.sources, Messenger: liveMessenger{h},
		Metrics: h.metrics, Log: h.o.Log, Now: h.o.Now,
		Rules: c.PlanRules(), Hours: plan.DefaultHourLimits(),
		HistoryYears: c.Weather.HistoryYears, FetchEvery: c.Weather.FetchEvery.Std(), CorrectBias: c.Weather.CorrectBias, KeepForecasts: c.Weather.KeepForecasts.Std(), Tunings: h.Tunings(),
	})
	pages, err := h.pages(ctx, h.metrics)
	if err != nil {
		return err
	}
	h.inner = h.service.StationHandler(pages)
	h.handler = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { h.live.Load().front.ServeHTTP(w, r) })
	h.ground.Watch(h.changed)
	return nil
}

// keepLogs stores the scoutings and treatments of the configuration. One that
// was stored before and reads otherwise now is named and left as it was stored.
func (h *Host) keepLogs(ctx context.Context) error {
	note := func(what, id string, err error) error {
		if errors.Is(err, store.ErrConflict) {
			h.o.Log.Warn("entry of the configuration differs from the stored one, which stays", "entry", what, "id", id)
			return nil
		}
		return err
	}
	for _, s := range h.o.Config.Scoutings {
		if err := note("scouting", s.ID, h.store.AddScouting(ctx, s)); err != nil {
			return err
		}
	}
	for _, t := range h.o.Config.Treatments {
		if err := note("treatment", t.ID, h.store.AddTreatment(ctx, t)); err != nil {
			return err
		}
	}
	return nil
}

// Listen takes the dashboard's address, so that Addr is known before Run.
func (h *Host) Listen() error {
	l, err := net.Listen("tcp", h.o.Config.Listen)
	if err != nil {
		return fmt.Errorf("open the dashboard's address: %w", err)
	}
	h.listener = l
	return nil
}

// Addr returns the address on which the dashboard listens.
func (h *Host) Addr() string { return h.listener.Addr().String() }

// Start returns the link that whoever started the program opens first: that of the
// first owner, while there is none.
func (h *Host) Start() string {
	if code := h.accounts.Code(); code != "" {
		return "http://" + h.Addr() + account.OwnerPath + "?code=" + url.QueryEscape(code)
	}
	return "http://" + h.Addr() + "/"
}

// Refresh does one round and one delivery.
func (h *Host) Refresh(ctx context.Context) error {
	err := h.round(ctx)
	return errors.Join(err, h.service.Deliver(ctx))
}

func (h *Host) round(ctx context.Context) error {
	err := h.service.Refresh(ctx)
	if err == nil {
		h.lastGood.Store(h.o.Now().Unix())
		h.live.Load().messenger.good(ctx)
	}
	return err
}

// Run serves the dashboard and runs the daemon until ctx ends.
func (h *Host) Run(ctx context.Context) error {
	if h.listener == nil {
		if err := h.Listen(); err != nil {
			return err
		}
	}
	h.lastGood.Store(h.o.Now().Unix()) // the first round has its time too
	server := &http.Server{Handler: h.handler, ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 30 * time.Second, WriteTimeout: 60 * time.Second, IdleTimeout: 2 * time.Minute}
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(h.listener) }()
	h.announce()
	h.o.Log.Info("dashboard", "address", "http://"+h.Addr())

	daemon, stop := context.WithCancel(ctx)
	defer stop()
	go h.ails.watchClock(daemon)
	ended, heard := make(chan error, 1), make(chan struct{})
	go func() { ended <- h.service.Run(daemon, h.round) }()
	go func() {
		defer close(heard)
		h.service.Listen(daemon)
	}()
	followed := make(chan struct{})
	go func() {
		defer close(followed)
		h.ground.Follow(daemon, followEvery)
	}()
	var err error
	select {
	case <-ctx.Done():
	case err = <-failed:
		err = fmt.Errorf("serve the dashboard: %w", err)
	}
	stop()
	grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
	defer cancel()
	err = errors.Join(err, server.Shutdown(grace), <-ended)
	<-heard
	<-followed
	return err
}

// missedRounds is after how many missed rounds the service calls itself unwell.
const missedRounds = 3

func (h *Host) health(ctx context.Context) error {
	if _, err := h.store.OutboxStats(ctx); err != nil {
		return err
	}
	if err := h.ails.health(); err != nil {
		return err
	}
	since := h.o.Now().Sub(time.Unix(h.lastGood.Load(), 0))
	if limit := missedRounds * h.o.Config.Weather.FetchEvery.Std(); since > limit {
		return fmt.Errorf("no round went well for %s", since.Round(time.Minute))
	}
	return nil
}

// Close closes the store.
func (h *Host) Close() error { return h.store.Close() }
