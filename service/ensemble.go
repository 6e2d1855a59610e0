package service

import (
	"context"
	"errors"
	"log/slog"
	"time"

	"plotwarden/garden"
	"plotwarden/risk/outlook"
	"plotwarden/store"
	"plotwarden/weather"
)

// Ensembler is a source that has ensemble forecasts.
type Ensembler interface {
	// EnsemblesFor says whether they are to be asked for when the source serves so
	// many sites.
	EnsemblesFor(sites int) bool
	// Ensembles calls give once for each site, with its index, one call at a time,
	// as the answers come. Sites can share the runs, which must not be changed.
	Ensembles(ctx context.Context, sites []*garden.Site, now time.Time, give func(i int, runs []*weather.Series, err error))
}

// ensembleStore keeps the newest runs of each site.
type ensembleStore interface {
	SaveEnsembles(ctx context.Context, list []store.Ensemble) error
	Ensemble(ctx context.Context, site string) (store.Ensemble, error)
}

const (
	ensembleEvery  = 12 * time.Hour // between two fetches; services issue two to four a day
	ensembleOldest = 36 * time.Hour // older runs are not used
	ensembleBatch  = 40             // sites stored in one transaction
	ensembleSuffix = " ensemble"    // of a source's name in its status
)

// ensembles asks for the runs of the sites whose last are some hours old. What
// fails is tried again in the next round; the runs before it stay until they are
// too old.
func (s *Service) ensembles(ctx context.Context, log *slog.Logger, all []*garden.Site) {
	for _, src := range s.sources() {
		e, ok := src.(Ensembler)
		sites := served(src, all)
		if !ok || !e.EnsemblesFor(len(served(src, s.everySite()))) {
			continue
		}
		now := s.o.Now()
		var due []*garden.Site
		for _, site := range sites {
			if s.ensembleDue(ctx, log, site, src.Name()+ensembleSuffix, now) {
				due = append(due, site)
			}
		}
		b := ensembleTaker{s: s, name: src.Name() + ensembleSuffix, now: now, log: log}
		e.Ensembles(ctx, due, now, func(i int, runs []*weather.Series, err error) {
			if b.take(ctx, due[i], runs, err); len(b.status) == ensembleBatch {
				b.flush(ctx)
			}
		})
		b.flush(ctx)
	}
}

func (s *Service) everySite() []*garden.Site {
	g := s.o.Garden()
	out := make([]*garden.Site, len(g.Sites))
	for i := range g.Sites {
		out[i] = &g.Sites[i]
	}
	return out
}

func (s *Service) ensembleDue(ctx context.Context, log *slog.Logger, site *garden.Site, name string, now time.Time) bool {
	list, err := s.o.Store.Sources(ctx, site.ID)
	if err != nil {
		log.Error("source status not readable", "site", site.ID, "source", name, "error", err)
		return false
	}
	for _, st := range list {
		if st.Source == name && now.Sub(st.LastGood) < ensembleEvery {
			return false
		}
	}
	return true
}

// ensembleTaker stores runs, many sites at a time.
type ensembleTaker struct {
	s    *Service
	name string
	now  time.Time
	log  *slog.Logger

	list   []store.Ensemble
	status []store.Fetched

	last  *weather.Series // the first of the last runs, which sites of one cell share
	clean []*weather.Series
}

func (t *ensembleTaker) take(ctx context.Context, site *garden.Site, runs []*weather.Series, err error) {
	if ctx.Err() != nil {
		return
	}
	f := store.Fetched{Site: site.ID, Source: t.name, At: t.now.UTC()}
	if err == nil && len(runs) == 0 {
		err = errors.New("no runs came")
	}
	if err != nil {
		f.Failure, f.Cause = oneLine(err), cause(err)
		failedSource(t.log.With("site", site.ID), t.name, f.Cause, err)
		t.status = append(t.status, f)
		return
	}
	if runs[0] != t.last {
		t.last, t.clean = runs[0], t.check(runs)
	}
	t.status = append(t.status, f)
	t.list = append(t.list, store.Ensemble{Site: site.ID, Source: t.name, At: t.now.UTC(), Members: t.clean})
}

// check takes out what cannot be. Such values are counted and not kept: an
// ensemble is replaced twice a day.
func (t *ensembleTaker) check(runs []*weather.Series) []*weather.Series {
	out := make([]*weather.Series, len(runs))
	for i, r := range runs {
		clean, rejects := weather.Check(r, weather.DefaultLimits())
		for _, x := range rejects {
			t.s.o.Metrics.Rejects.WithLabelValues(x.Var.String()).Inc()
		}
		out[i] = clean
	}
	return out
}

func (t *ensembleTaker) flush(ctx context.Context) {
	if len(t.status) == 0 || ctx.Err() != nil {
		return
	}
	var err error
	if len(t.list) > 0 {
		err = t.s.o.Store.SaveEnsembles(ctx, t.list)
	}
	if err != nil {
		t.log.Error("ensembles not stored", "source", t.name, "sites", len(t.list), "error", err)
		for i := range t.status {
			if f := &t.status[i]; f.Cause == "" && f.Failure == "" {
				f.Cause, f.Failure = store.NotKept, oneLine(err)
			}
		}
	}
	b := taker{s: t.s, now: t.now, log: t.log, name: t.name, batch: t.status}
	b.flush(ctx)
	t.list, t.status = t.list[:0], t.status[:0]
}

// runs returns the site's ensemble, nil where there is none that is new enough.
func (s *Service) runs(ctx context.Context, log *slog.Logger, site string, now time.Time) []*weather.Series {
	e, err := s.o.Store.Ensemble(ctx, site)
	switch {
	case errors.Is(err, store.ErrNotFound):
		return nil
	case err != nil:
		log.Error("ensemble not readable", "error", err)
		return nil
	case now.Sub(e.At) > ensembleOldest:
		return nil
	}
	return e.Members
}

// waysAhead are the versions of the forecast: the runs of an ensemble where there
// are some, else the forecast with the quantiles of its error.
func (v *siteView) waysAhead() []*weather.Series {
	if v.runs != nil {
		if out := outlook.EnsembleVersions(v.hours, v.now, v.runs()); out != nil {
			return out
		}
	}
	v.stated = !v.forecastError.MeasuredRH || v.forecastError.MeasuredRain == 0
	return outlook.Versions(v.hours, v.now, v.forecastError, versions)
}
