package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/wetness"
	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/web/view"
)

// work shows the hours for spraying, the clocks for the gate and what was done.
func (s *server) work(w http.ResponseWriter, r *http.Request) {
	in, x, ok := s.workInput(w, r)
	if !ok {
		return
	}
	q := r.URL.Query()
	ask := view.Ask{Planting: q.Get("planting"), Material: q.Get("material")}
	if b := q.Get("bloom"); b != "" && ask.Bloom.UnmarshalText([]byte(b)) != nil {
		ask.Bloom = ""
	}
	s.pages.Show(w, r, http.StatusOK, "work", siteFrame(in.Site, "Work, "+in.Site.Name, "work", view.Work(in, x.logs, x.series, x.wet, ask)))
}

// year shows the work that no threat calls for: frost, sowing, water, rotation.
func (s *server) year(w http.ResponseWriter, r *http.Request) {
	in, x, ok := s.workInput(w, r)
	if !ok {
		return
	}
	p, err := view.Year(in, x.series, x.logs)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	s.pages.Show(w, r, http.StatusOK, "year", siteFrame(in.Site, "The year's work, "+in.Site.Name, "work", p))
}

// plan shows the season's plan of one planting.
func (s *server) plan(w http.ResponseWriter, r *http.Request) {
	in, x, ok := s.workInput(w, r)
	if !ok {
		return
	}
	_, planting := in.Site.Find(r.PathValue("planting"))
	if planting == nil {
		s.Kit.NotFound(w, r, "There is no such planting here. It may have been removed.")
		return
	}
	rules := s.Rules
	if rules == (plan.Rules{}) {
		rules = plan.DefaultRules()
	}
	p, ok := view.Plan(in, planting.ID, x.series, x.logs.Records, plan.LastPick(planting, x.logs.Autumn, civil.Of(in.Now, in.Site.Location())), rules)
	if !ok {
		s.Kit.NotFound(w, r, "There is no such planting here. It may have been removed.")
		return
	}
	s.pages.Show(w, r, http.StatusOK, "plan", siteFrame(in.Site, "Plan, "+p.Bed, "work", p))
}

// worked is what the pages of work are built from.
type worked struct {
	logs   view.Logs
	series *weather.Series
	wet    []wetness.State
}

// workInput loads it, or answers why not.
func (s *server) workInput(w http.ResponseWriter, r *http.Request) (*view.In, worked, bool) {
	g, site, ok := s.find(w, r)
	if !ok {
		return nil, worked{}, false
	}
	in, err := s.in(w, r, g, site)
	if err == nil {
		var x worked
		if x, err = s.loadWork(r, in); err == nil {
			return in, x, true
		}
	}
	s.Kit.Fail(w, r, err)
	return nil, worked{}, false
}

func (s *server) loadWork(r *http.Request, in *view.In) (worked, error) {
	ctx, site := r.Context(), in.Site
	var x worked
	var err error
	if x.logs.Records, err = s.records(ctx, in.Garden, site); err != nil {
		return x, err
	}
	seen, err := s.Data.Scoutings(ctx, site.ID)
	if err != nil {
		return x, fmt.Errorf("read the scoutings of %s: %w", site.ID, err)
	}
	x.logs.Seen = garden.Looks(seen)
	if s.Frosts != nil {
		x.logs.Spring, x.logs.Autumn = s.Frosts(site.ID)
	}
	from, to := view.SpraySpan(in)
	if x.series, err = s.Data.LoadWeather(ctx, site.ID, from, to); err != nil && !errors.Is(err, store.ErrNotFound) {
		return x, fmt.Errorf("read the weather of %s: %w", site.ID, err)
	}
	if x.series != nil && s.Wet != nil {
		x.wet = s.Wet(x.series)
	}
	return x, nil
}

// records returns everything that is on record for a site, corrected entries too.
func (s *server) records(ctx context.Context, g *garden.Garden, site *garden.Site) ([]garden.Record, error) {
	full, err := s.Data.Records(ctx, site.ID)
	if err != nil {
		return nil, fmt.Errorf("read the records of %s: %w", site.ID, err)
	}
	plain, err := s.Data.Treatments(ctx, site.ID)
	if err != nil {
		return nil, fmt.Errorf("read the treatments of %s: %w", site.ID, err)
	}
	return garden.OnRecord(site, full, g.Materials, plain, g.Treatments), nil
}

// record is the treatment log as CSV, one row a record, corrected ones too.
func (s *server) record(w http.ResponseWriter, r *http.Request) {
	g, site, ok := s.find(w, r)
	if !ok {
		return
	}
	all, err := s.records(r.Context(), g, site)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	body, err := garden.RecordsCSV(all, site.Location())
	if err != nil {
		s.Kit.Fail(w, r, fmt.Errorf("write the record of %s: %w", site.ID, err))
		return
	}
	csvFile(w, "record-"+site.ID, body)
}

// csvFile answers with a table to keep.
func csvFile(w http.ResponseWriter, name string, body []byte) {
	h := w.Header()
	h.Set("Content-Type", "text/csv; charset=utf-8")
	h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", strings.Map(plainName, name)+".csv"))
	h.Set("Cache-Control", "private, no-cache")
	_, _ = w.Write(body) // a reader that went away needs no answer
}

// plainName keeps a file name to what every system takes.
func plainName(r rune) rune {
	if r == '-' || r == '_' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
		return r
	}
	return '-'
}
