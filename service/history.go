package service

import (
	"context"
	"log/slog"
	"math"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/weather"
)

// wholeShare is the share of hours with a temperature at which a stretch of
// history counts as there; services have single holes that never fill.
const wholeShare = 0.95

// history fetches what is missing of this season and of the past years, a
// season at a time, from the sources that have past years in their order: the
// next one is asked for what the one before it did not have. It is looked at
// once a local day; a failure is tried again in the next round.
func (s *Service) history(ctx context.Context, log *slog.Logger, site *garden.Site, now time.Time, today civil.Date) {
	s.mu.Lock()
	done := s.full[site.ID] == today
	s.mu.Unlock()
	if done {
		return
	}
	whole := true
	failed := map[string]bool{}
	for _, span := range spans(site, today, s.o.HistoryYears) {
		for _, src := range s.sources() {
			h, ok := src.(Historian)
			if !ok || !src.Serves(site) {
				continue
			}
			if ctx.Err() != nil {
				return
			}
			if s.has(ctx, log, site, span) {
				break
			}
			if failed[src.Name()] { // not again for each season
				continue
			}
			got, err := h.History(ctx, s.withHeight(ctx, log, site), span.first, span.last, now)
			if err == nil {
				clean, rejects := weather.Check(got, weather.DefaultLimits())
				if err = s.credible(ctx, site, src.Name(), got, clean, rejects); err == nil {
					err = s.keepChecked(ctx, log, site, src.Name(), clean, rejects)
				}
			}
			s.note(ctx, log, site, src.Name()+" history", now, err)
			if err != nil {
				failed[src.Name()], whole = true, false
				continue
			}
			log.Info("history fetched", "source", src.Name(), "from", span.first, "to", span.last, "hours", got.Len())
		}
	}
	if whole {
		s.mu.Lock()
		s.full[site.ID] = today
		s.mu.Unlock()
	}
}

type span struct{ first, last civil.Date }

// spans cuts the past into seasons, the newest first: this season to yesterday,
// then each whole season before it.
func spans(site *garden.Site, today civil.Date, years int) []span {
	first := seasonStart(site, today)
	var out []span
	if first < today {
		out = append(out, span{first, today.AddDays(-1)})
	}
	for range years {
		last := first.AddDays(-1)
		first = seasonStart(site, last)
		out = append(out, span{first, last})
	}
	return out
}

func (s *Service) has(ctx context.Context, log *slog.Logger, site *garden.Site, sp span) bool {
	zone := site.Location()
	from, to := sp.first.Start(zone).Truncate(time.Hour), sp.last.AddDays(1).Start(zone).Truncate(time.Hour)
	got, err := s.o.Store.LoadWeather(ctx, site.ID, from, to)
	if err != nil {
		log.Error("weather not readable", "error", err)
		return false
	}
	n := 0
	for i := got.Index(from); i < got.Index(to); i++ {
		if !math.IsNaN(got.Value(weather.Temp, i)) {
			n++
		}
	}
	return float64(n) >= wholeShare*to.Sub(from).Hours()
}
