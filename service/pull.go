package service

import (
	"cmp"
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
func (s *Service) pull(ctx context.Context, log *slog.Logger, all []*garden.Site) {
	for _, src := range slices.Backward(s.sources()) {
		sites := served(src, all)
		t := taker{s: s, name: src.Name(), now: s.o.Now(), log: log}
		switch f := src.(type) {
		case *Station:
			for _, site := range sites {
				s.silence(ctx, log.With("site", site.ID), site, f, t.now)
			}
		case BatchFetcher:
			f.FetchAll(ctx, sites, t.now, func(i int, got Answer, err error) {
				if t.take(ctx, sites[i], got, err); len(t.batch) == batchSize {
					t.flush(ctx)
				}
			})
			t.flush(ctx)
		case Fetcher:
			for _, site := range sites {
				if ctx.Err() != nil {
					return
				}
				got, err := f.Fetch(ctx, s.withHeight(ctx, log, site), t.now)
				t.take(ctx, site, got, err)
				t.flush(ctx)
			}
		}
	}
}

// batchSize is how many sites are stored in one transaction: some requests' worth.
// A process that is killed asks again for so many at most.
const batchSize = 250

// served returns those of the sites that a source is for.
func served(src Source, all []*garden.Site) []*garden.Site {
	var out []*garden.Site
	for _, site := range all {
		if src.Serves(site) {
			out = append(out, site)
		}
	}
	return out
}

// taker stores what one source said in one round, many sites at a time.
type taker struct {
	s    *Service
	name string // of the source
	now  time.Time
	log  *slog.Logger

	batch []store.Fetched

	// The last series, what the checks left of it, what of that lies ahead, and why
	// nothing of it may be used: sites of one grid cell share all of them.
	last, clean, ahead *weather.Series
	rejects            []weather.Reject
	refused            error
}

func (t *taker) take(ctx context.Context, site *garden.Site, got Answer, err error) {
	if ctx.Err() != nil { // stopped: says nothing of the source
		return
	}
	f := store.Fetched{Site: site.ID, Source: t.name, At: t.now.UTC(), Elevation: got.Elevation}
	if got.Series != nil {
		if got.Series != t.last {
			t.last = got.Series
			t.clean, t.rejects = weather.Check(got.Series, weather.DefaultLimits())
			t.ahead = t.clean.Slice(t.clean.Index(t.now), t.clean.Len())
			t.refused = t.s.credible(ctx, site, t.name, got.Series, t.clean, t.rejects)
		}
		if err = errors.Join(err, t.refused); t.refused == nil {
			var qerr error
			f.Ahead = t.ahead
			f.Hours, f.Rejects, qerr = t.s.sift(ctx, t.log.With("site", site.ID), site, f.Source, t.clean, t.rejects)
			err = errors.Join(err, qerr, t.s.doubt(ctx, site, f.Source))
		}
	}
	if err != nil {
		f.Failure, f.Cause = oneLine(err), cause(err)
		failedSource(t.log.With("site", site.ID), f.Source, f.Cause, err)
	}
	t.batch = append(t.batch, f)
}

// flush stores the batch. What cannot be stored is told for each site.
func (t *taker) flush(ctx context.Context) {
	if len(t.batch) == 0 || ctx.Err() != nil {
		return
	}
	failed, err := t.s.o.Store.SaveFetched(ctx, t.batch)
	if err != nil {
		t.log.Error("weather not stored", "source", t.name, "sites", len(t.batch), "first", t.batch[0].Site, "error", err)
	}
	for i, f := range t.batch {
		c := cmp.Or(f.Cause, "ok")
		if err != nil {
			c = store.NotKept
		} else if failed[i] != nil {
			c = store.NotKept
			t.log.Error("weather not stored", "source", f.Source, "site", f.Site, "error", failed[i])
		}
		t.s.o.Metrics.fetched(f.Source, c, t.now)
	}
	t.batch = t.batch[:0]
}

// keep stores a series after the quality checks.
func (s *Service) keep(ctx context.Context, log *slog.Logger, site *garden.Site, name string, got *weather.Series) error {
	clean, rejects := weather.Check(got, weather.DefaultLimits())
	return s.keepChecked(ctx, log, site, name, clean, rejects)
}

// keepChecked stores what the checks left of a series, and keeps and counts what
// they took out.
func (s *Service) keepChecked(ctx context.Context, log *slog.Logger, site *garden.Site, name string, clean *weather.Series, rejects []weather.Reject) error {
	clean, rejects, err := s.sift(ctx, log, site, name, clean, rejects)
	if err != nil {
		return err
	}
	return errors.Join(s.o.Store.SaveRejects(ctx, site.ID, rejects), s.o.Store.SaveWeather(ctx, site.ID, clean))
}

// sift takes out of checked hours what is not believed of a station that is
// doubted now, and counts all that was taken out. With an error there are no hours.
func (s *Service) sift(ctx context.Context, log *slog.Logger, site *garden.Site, name string, clean *weather.Series, rejects []weather.Reject) (*weather.Series, []weather.Reject, error) {
	q, err := s.qualityOf(ctx, site)
	if err != nil {
		return nil, nil, err
	}
	clean, held := withhold(clean, q.Doubts, true)
	if len(held) > 0 {
		rejects = append(slices.Clip(rejects), held...)
	}
	for _, r := range rejects {
		s.o.Metrics.Rejects.WithLabelValues(r.Var.String()).Inc()
	}
	if len(rejects) > 0 {
		log.Warn("weather values set aside", "source", name, "count", len(rejects), "first", rejects[0].String())
	}
	return clean, rejects, nil
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
		st.LastErr, st.Cause, st.Consecutive = oneLine(err), cause(err), st.Consecutive+1
		s.o.Metrics.fetched(name, st.Cause, now)
		failedSource(log, name, st.Cause, err)
	}
	if err := s.o.Store.SetSource(ctx, st); err != nil {
		log.Error("source status not stored", "source", name, "error", err)
	}
}

func failedSource(log *slog.Logger, name, cause string, err error) {
	log.Warn("source failed", "source", name, "cause", cause, "error", err)
}

func oneLine(err error) string { return strings.ReplaceAll(err.Error(), "\n", "; ") }

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
