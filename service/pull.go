package service

import (
	"context"
	"errors"
	"log/slog"
	"slices"
	"strings"
	"time"

	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/weather/source"
)

// pull asks every source for all the sites that it serves, sets bad values aside
// and stores the rest. What fails leaves the last good data as it was. The least
// preferred source goes first: of like values the one fetched last stays, and
// where a preferred source fails the news of another is better than its own old
// words.
func (s *Service) pull(ctx context.Context, log *slog.Logger) {
	for _, src := range slices.Backward(s.o.Sources) {
		sites := s.served(src)
		t := taker{s: s, src: src, now: s.o.Now()}
		switch f := src.(type) {
		case *Station:
			for _, site := range sites {
				s.silence(ctx, log.With("site", site.ID), site, f, t.now)
			}
		case BatchFetcher:
			f.FetchAll(ctx, sites, t.now, func(i int, got *weather.Series, err error) {
				t.take(ctx, log.With("site", sites[i].ID), sites[i], got, err)
			})
		case Fetcher:
			for _, site := range sites {
				if ctx.Err() != nil {
					return
				}
				got, err := f.Fetch(ctx, site, t.now)
				t.take(ctx, log.With("site", site.ID), site, got, err)
			}
		}
	}
}

// served returns the sites of a source.
func (s *Service) served(src Source) []*garden.Site {
	var out []*garden.Site
	for i := range s.o.Garden().Sites {
		if site := &s.o.Garden().Sites[i]; src.Serves(site) {
			out = append(out, site)
		}
	}
	return out
}

// taker stores what one source said in one round.
type taker struct {
	s   *Service
	src Source
	now time.Time

	// The last series and what the checks left of it: sites of one grid cell
	// share both.
	last, clean *weather.Series
	rejects     []weather.Reject
}

func (t *taker) take(ctx context.Context, log *slog.Logger, site *garden.Site, got *weather.Series, err error) {
	if ctx.Err() != nil { // stopped: says nothing of the source
		return
	}
	if got != nil {
		if got != t.last {
			t.last = got
			t.clean, t.rejects = weather.Check(got, weather.DefaultLimits())
		}
		err = errors.Join(err, t.s.keepChecked(ctx, log, site, t.src.Name(), t.clean, t.rejects), t.s.doubt(ctx, site, t.src.Name()))
		if ahead := t.clean.Slice(t.clean.Index(t.now), t.clean.Len()); ahead.Len() > 0 {
			err = errors.Join(err, t.s.o.Store.SaveForecast(ctx, site.ID, t.src.Name(), t.now.UTC(), ahead))
		}
	}
	t.s.note(ctx, log, site, t.src.Name(), t.now, err)
}

// keep stores a series after the quality checks.
func (s *Service) keep(ctx context.Context, log *slog.Logger, site *garden.Site, name string, got *weather.Series) error {
	clean, rejects := weather.Check(got, weather.DefaultLimits())
	return s.keepChecked(ctx, log, site, name, clean, rejects)
}

// keepChecked stores what the checks left of a series, and keeps and counts what
// they took out. Of a station that is doubted now, nothing is believed.
func (s *Service) keepChecked(ctx context.Context, log *slog.Logger, site *garden.Site, name string, clean *weather.Series, rejects []weather.Reject) error {
	q, err := s.qualityOf(ctx, site)
	if err != nil {
		return err
	}
	clean, held := withhold(clean, q.Doubts, true)
	rejects = append(slices.Clip(rejects), held...)
	for _, r := range rejects {
		s.o.Metrics.Rejects.WithLabelValues(r.Var.String()).Inc()
	}
	if len(rejects) > 0 {
		log.Warn("weather values set aside", "source", name, "count", len(rejects), "first", rejects[0].String())
	}
	return errors.Join(s.o.Store.SaveRejects(ctx, site.ID, rejects), s.o.Store.SaveWeather(ctx, site.ID, clean))
}

// doubt returns why a source is not believed now, nil when it is.
func (s *Service) doubt(ctx context.Context, site *garden.Site, name string) error {
	q, err := s.qualityOf(ctx, site)
	if err != nil {
		return err
	}
	return doubtError(name, q.Doubts, site.Location())
}

// note records how a source did, for log, metric and dashboard.
func (s *Service) note(ctx context.Context, log *slog.Logger, site *garden.Site, name string, now time.Time, err error) {
	st := store.SourceStatus{Site: site.ID, Source: name, LastTry: now.UTC()}
	old, lerr := s.o.Store.Sources(ctx, site.ID)
	if lerr != nil {
		log.Error("source status not readable", "source", name, "error", lerr)
	}
	for _, o := range old {
		if o.Source == name {
			st.LastGood, st.Consecutive = o.LastGood, o.Consecutive
		}
	}
	if err == nil {
		st.LastGood, st.Consecutive = now.UTC(), 0
		s.o.Metrics.fetched(name, "ok", now)
	} else {
		st.LastErr, st.Cause, st.Consecutive = strings.ReplaceAll(err.Error(), "\n", "; "), cause(err), st.Consecutive+1
		s.o.Metrics.fetched(name, st.Cause, now)
		log.Warn("source failed", "source", name, "cause", st.Cause, "inRow", st.Consecutive, "error", err)
	}
	if err := s.o.Store.SetSource(ctx, st); err != nil {
		log.Error("source status not stored", "source", name, "error", err)
	}
}

// cause names a failure with a small fixed word.
func cause(err error) string {
	var se *source.Error
	switch {
	case errors.As(err, &se) && se.Cause != "":
		return se.Cause
	case errors.Is(err, context.DeadlineExceeded):
		return "timeout"
	case errors.Is(err, context.Canceled):
		return "stopped"
	}
	return "other"
}
