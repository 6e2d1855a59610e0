package web

import (
	"plotwarden/web/page"

	"errors"
	"fmt"
	"net/http"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/web/view"
)

// why shows the reason, the numbers and the sources of one threat to one
// planting.
func (s *server) why(w http.ResponseWriter, r *http.Request) {
	g, site, ok := s.find(w, r)
	if !ok {
		return
	}
	in, err := s.in(w, r, g, site)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	if err := s.logs(r, in); err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	p, ok := view.Why(in, r.PathValue("planting"), r.PathValue("threat"), r.URL.Query().Get("model"))
	if !ok {
		s.Kit.NotFound(w, r, "The latest round says nothing of this threat to this planting. The planting may have been removed.")
		return
	}
	s.pages.Show(w, r, http.StatusOK, "why", siteFrame(site, p.Threat.Text+", "+p.Bed, "", p))
}

// logs puts what the log says into in, as far as the reader may see it.
func (s *server) logs(r *http.Request, in *view.In) error {
	seen, err := s.Data.Scoutings(r.Context(), in.Site.ID)
	if err != nil {
		return fmt.Errorf("read the scoutings of %s: %w", in.Site.ID, err)
	}
	if in.Done, err = s.Data.Treatments(r.Context(), in.Site.ID); err != nil {
		return fmt.Errorf("read the treatments of %s: %w", in.Site.ID, err)
	}
	in.Seen = access.From(r.Context()).Finds(garden.Looks(seen))
	return nil
}

// weather shows the hours behind a site's assessments.
func (s *server) weather(w http.ResponseWriter, r *http.Request) {
	g, site, ok := s.find(w, r)
	if !ok {
		return
	}
	in := &view.In{Garden: g, Site: site, Catalogue: s.catalogueOf(r.Context(), site.ID), Now: s.Now(), Style: s.Kit.Style(w, r)}
	sources, err := s.Data.Sources(r.Context(), site.ID)
	if err != nil {
		s.Kit.Fail(w, r, fmt.Errorf("read the weather sources of %s: %w", site.ID, err))
		return
	}
	from, to := view.WeatherSpan(in)
	series, err := s.Data.LoadWeather(r.Context(), site.ID, from, to)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		s.Kit.Fail(w, r, fmt.Errorf("read the weather of %s: %w", site.ID, err))
		return
	}
	p := view.Weather(in, series, sources, s.Wet)
	if p.Quality, err = s.quality(r.Context(), in); err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	s.pages.Show(w, r, http.StatusOK, "weather", siteFrame(site, "Weather, "+site.Name, "weather", p))
}

// threats lists the catalogue.
func (s *server) threats(w http.ResponseWriter, r *http.Request) {
	s.pages.Show(w, r, http.StatusOK, "threats", page.Frame{Title: "Threats", Here: "threats", Body: view.Threats(s.Catalogue)})
}

// threat shows one threat of the catalogue.
func (s *server) threat(w http.ResponseWriter, r *http.Request) {
	t, ok := s.Catalogue.ByID(r.PathValue("threat"))
	if !ok {
		s.Kit.NotFound(w, r, "There is no threat of that name in the catalogue.")
		return
	}
	p := view.Threat(t)
	s.pages.Show(w, r, http.StatusOK, "threat", page.Frame{Title: p.Name, Here: "threats", Body: p})
}
