package service

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"plotwarden/garden"
)

// settleTime is how long after a change the round of its site begins, so that
// several changes in a row make one.
const settleTime = 2 * time.Second

// Soon asks for a round of some sites, besides those by the clock. Sites that are
// not there are passed over.
func (s *Service) Soon(sites ...string) {
	if len(sites) == 0 {
		return
	}
	s.soonMu.Lock()
	for _, id := range sites {
		s.soon[id] = true
	}
	s.soonMu.Unlock()
	select {
	case s.wake <- struct{}{}:
	default: // it is awake
	}
}

// sooner runs a job some time after each time that Soon was called, until ctx
// ends. It returns when the job under way has ended.
func (s *Service) sooner(ctx context.Context, job func()) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-s.wake:
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(settleTime):
			job()
		}
	}
}

// refreshSoon does a round of the sites that were asked for, and sends what
// follows. Weather is fetched for those that had none lately.
func (s *Service) refreshSoon(ctx context.Context) error {
	s.soonMu.Lock()
	wanted := s.soon
	s.soon = map[string]bool{}
	s.soonMu.Unlock()
	var all, fetch []*garden.Site
	g := s.o.Garden()
	for i := range g.Sites {
		site := &g.Sites[i]
		if !wanted[site.ID] {
			continue
		}
		all = append(all, site)
		fresh, err := s.fetchedLately(ctx, site)
		if err != nil {
			return err
		}
		if !fresh {
			fetch = append(fetch, site)
		}
	}
	if len(all) == 0 {
		return nil
	}
	log := s.o.Log.With("round", roundID(), "after", "change")
	if len(fetch) > 0 {
		s.pull(ctx, log, fetch)
	}
	return errors.Join(s.rounds(ctx, log, all), s.Deliver(ctx))
}

// fetchedLately says whether a source that fetches did well within the time
// between two rounds.
func (s *Service) fetchedLately(ctx context.Context, site *garden.Site) (bool, error) {
	list, err := s.o.Store.Sources(ctx, site.ID)
	if err != nil {
		return false, fmt.Errorf("load how the sources of %s are doing: %w", site.ID, err)
	}
	for _, st := range list {
		if !strings.HasSuffix(st.Source, " history") && !strings.HasSuffix(st.Source, ensembleSuffix) && st.LastErr == "" && s.o.Now().Sub(st.LastGood) < s.o.FetchEvery {
			return true, nil
		}
	}
	return false, nil
}

// sources are those in use.
func (s *Service) sources() []Source { return *s.src.Load() }

// SetSources puts other sources in use. Rounds under way end with those they have.
func (s *Service) SetSources(list []Source) {
	s.src.Store(&list)
	s.routes.Store(s.stationRoutes())
}
