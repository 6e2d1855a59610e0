package service

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"github.com/robfig/cron/v3"
)

// Run does a round and a delivery at once and then by the clock, in UTC, until
// ctx ends. round is the round to do. Sites' local hours are decided in the
// round, not by the scheduler: its own handling of local time skips and doubles
// jobs on clock-change days.
func (s *Service) Run(ctx context.Context, round func(context.Context) error) error {
	work := make(chan struct{}, 1) // one round or delivery at a time
	job := func(name string, f func(context.Context) error) func() {
		return func() {
			select {
			case work <- struct{}{}:
			case <-ctx.Done():
				return
			}
			defer func() { <-work }()
			if err := f(ctx); err != nil && ctx.Err() == nil {
				s.o.Log.Error(name+" ended with errors", "error", err)
			}
		}
	}
	log := cronLog{s.o.Log}
	c := cron.New(cron.WithLocation(time.UTC), cron.WithLogger(log),
		// Recover stands last, innermost: SkipIfStillRunning of this version
		// stays shut for ever after a panic that passes through it.
		cron.WithChain(cron.SkipIfStillRunning(log), cron.Recover(log)))
	for _, j := range []struct {
		spec, name string
		job        func()
	}{
		{everySpec(s.o.FetchEvery), "round", s.later(ctx, job("round", round))},
		{"@every 30s", "delivery", job("delivery", s.Deliver)},
	} {
		if _, err := c.AddFunc(j.spec, j.job); err != nil {
			return fmt.Errorf("schedule the %s: %w", j.name, err)
		}
	}
	first := cron.NewChain(cron.Recover(log))
	first.Then(cron.FuncJob(job("round", round))).Run()
	first.Then(cron.FuncJob(job("delivery", s.Deliver))).Run()
	c.Start()
	s.sooner(ctx, first.Then(cron.FuncJob(job("round of what changed", s.refreshSoon))).Run)
	<-c.Stop().Done() // waits for the job under way
	return nil
}

// later runs a job some time after it is due, so that installations that were
// started together do not ask the weather services together. Deliveries go on
// meanwhile.
func (s *Service) later(ctx context.Context, job func()) func() {
	return func() {
		off := delay(s.o.FetchEvery, s.o.Rand())
		s.o.Metrics.RoundDelay.Set(off.Seconds())
		wait := time.NewTimer(off)
		defer wait.Stop()
		select {
		case <-ctx.Done():
		case <-wait.C:
			job()
		}
	}
}

// delay returns how long a round waits: up to a tenth of the time between two,
// five minutes at most. r is from 0 up to 1.
func delay(every time.Duration, r float64) time.Duration {
	return time.Duration(r * float64(min(every/10, 5*time.Minute)))
}

func everySpec(d time.Duration) string { return "@every " + d.String() }

// Deliver sends what is due.
func (s *Service) Deliver(ctx context.Context) error {
	return s.o.Messenger.Deliver(ctx, s.o.Now())
}

// cronLog passes the scheduler's words to slog.
type cronLog struct{ log *slog.Logger }

func (l cronLog) Info(msg string, kv ...any) { l.log.Debug("schedule: "+msg, kv...) }
func (l cronLog) Error(err error, msg string, kv ...any) {
	l.log.Error("schedule: "+msg, append(kv, "error", err)...)
}
