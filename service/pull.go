package service

import (
	"context"
	"errors"
	"log/slog"
	"slices"
	"time"

	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/weather/source"
)

// pull fetches from every source, sets bad values aside and stores the rest.
// What fails leaves the last good data as it was. The least preferred source
// goes first: of like values the one fetched last stays, and where a preferred
// source fails the news of another is better than its own old words.
func (s *Service) pull(ctx context.Context, log *slog.Logger, site *garden.Site, now time.Time) {
	for _, src := range slices.Backward(s.o.Sources) {
		err := s.pullOne(ctx, log, site, src, now)
		s.note(ctx, log, site, src.Name(), now, err)
	}
}

func (s *Service) pullOne(ctx context.Context, log *slog.Logger, site *garden.Site, src Source, now time.Time) error {
	got, err := src.Fetch(ctx, site, now)
	if err != nil {
		return err
	}
	if err := s.keep(ctx, log, site, src.Name(), got); err != nil {
		return err
	}
	return s.o.Store.SaveForecast(ctx, site.ID, src.Name(), now.UTC(), got.Slice(got.Index(now), got.Len()))
}

// keep stores a series after the quality checks.
func (s *Service) keep(ctx context.Context, log *slog.Logger, site *garden.Site, name string, got *weather.Series) error {
	clean, rejects := weather.Check(got, weather.DefaultLimits())
	for _, r := range rejects {
		s.o.Metrics.Rejects.WithLabelValues(r.Var.String()).Inc()
	}
	if len(rejects) > 0 {
		log.Warn("weather values set aside", "source", name, "count", len(rejects), "first", rejects[0].String())
	}
	return s.o.Store.SaveWeather(ctx, site.ID, clean)
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
		st.LastErr, st.Cause, st.Consecutive = err.Error(), cause(err), st.Consecutive+1
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
