package web

import (
	"errors"
	"fmt"
	"net/http"

	"plotwarden/store"
	"plotwarden/web/view"
)

// rain shows the coming days by the hour, across the beds.
func (s *server) rain(w http.ResponseWriter, r *http.Request) {
	g, site, ok := s.find(w, r)
	if !ok {
		return
	}
	in, err := s.in(w, r, g, site)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	from, to := view.RainSpan(in)
	series, err := s.Data.LoadWeather(r.Context(), site.ID, from, to)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		s.Kit.Fail(w, r, fmt.Errorf("read the weather of %s: %w", site.ID, err))
		return
	}
	s.pages.Show(w, r, http.StatusOK, "rain", siteFrame(site, "Before the rain, "+site.Name, "rain", view.Rain(in, series, s.Wet)))
}
