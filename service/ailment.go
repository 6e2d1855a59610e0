package service

import (
	"context"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"plotwarden/store"
)

// ailment knows what ails the machine below: a store that cannot write, a clock
// that jumps. It tells log, metrics and health.
type ailment struct {
	log    *slog.Logger
	now    func() time.Time
	faults *prometheus.CounterVec // fault: damaged, full, read-only, disk, locked
	sound  prometheus.Gauge
	jumps  prometheus.Counter
	mu     sync.Mutex
	fault  string // of the last change; empty when it was kept
	err    error
	since  time.Time
}

func newAilment(log *slog.Logger, now func() time.Time) *ailment {
	a := &ailment{
		log: log, now: now,
		faults: prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: "plotwarden", Name: "store_faults_total", Help: "Changes that the store could not keep, by what ails it."}, []string{"fault"}),
		sound:  prometheus.NewGauge(prometheus.GaugeOpts{Namespace: "plotwarden", Name: "store_sound", Help: "1 while the store keeps what it is given."}),
		jumps:  prometheus.NewCounter(prometheus.CounterOpts{Namespace: "plotwarden", Name: "clock_jumps_total", Help: "Times the machine's clock was put forward or back by more than half a minute."}),
	}
	a.sound.Set(1)
	return a
}

func (a *ailment) register(r *prometheus.Registry) { r.MustRegister(a.faults, a.sound, a.jumps) }

// heard is told how each change of the store went. Errors of another sort, as that
// somebody was quicker, say nothing of the store.
func (a *ailment) heard(err error) {
	fault := store.Fault(err)
	if err != nil && fault == "" {
		return
	}
	a.mu.Lock()
	before, since := a.fault, a.since
	if fault != before {
		a.fault, a.since = fault, a.now()
	}
	a.err = err
	a.mu.Unlock()
	if fault != "" {
		a.faults.WithLabelValues(fault).Inc()
	}
	switch {
	case fault != "" && fault != before:
		a.sound.Set(0)
		a.log.Error("the store cannot keep what it is given", "fault", fault, "error", err)
	case fault == "" && before != "":
		a.sound.Set(1)
		a.log.Warn("the store keeps again what it is given", "fault", before, "after", a.now().Sub(since).Round(time.Second).String())
	}
}

// health is an error while the last change was not kept.
func (a *ailment) health() error {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.fault == "" {
		return nil
	}
	return fmt.Errorf("the store cannot keep what it is given (%s, since %s): %w", a.fault, a.since.UTC().Format(time.RFC3339), a.err)
}

const (
	clockEvery = 20 * time.Second
	clockSlack = 30 * time.Second
)

// watchClock holds the clock against time that passes, which nobody can set.
func (a *ailment) watchClock(ctx context.Context) {
	tick := time.NewTicker(clockEvery)
	defer tick.Stop()
	began, shown := time.Now(), a.now()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		passed, shows := time.Since(began), a.now()
		a.clock(shown, shows, passed)
		began, shown = time.Now(), shows
	}
}

// clock is told what the clock showed, what it shows, and how much time passed.
func (a *ailment) clock(shown, shows time.Time, passed time.Duration) {
	by := shows.Round(0).Sub(shown.Round(0)) - passed // Round takes the monotonic reading off
	if by.Abs() <= clockSlack {
		return
	}
	a.jumps.Inc()
	a.log.Warn("the clock was put forward or back; messages keep their slots, and what a wrong clock put days ahead is put right", "by", by.Round(time.Second).String())
}
