package service

import (
	"crypto/rand"
	"net/http"

	"github.com/prometheus/client_golang/prometheus/promhttp"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/risk/wetness"
	"plotwarden/weather"
	"plotwarden/web"
	desk "plotwarden/web/bench"
	"plotwarden/web/entry"
	"plotwarden/web/page"
	"plotwarden/web/setup"
)

// pages puts all that browsers see on one mux.
func (h *Host) pages(m *Metrics) http.Handler {
	c := h.o.Config
	kit := page.New(page.Options{Demo: h.o.Demo, Credits: func() []string { return h.live.Load().credits }, Version: h.o.Version, Log: h.o.Log})
	mux := page.NewMux(kit)
	web.Mount(mux, web.Deps{
		Kit: kit, Garden: h.service.o.Garden,
		Catalogue: h.o.Catalogue, SiteCatalogue: h.siteCatalogue, Data: h.store, Now: h.o.Now,
		Wet: func(s *weather.Series) []wetness.State {
			return wetness.Rule{Method: wetness.Humidity}.Estimate(s, garden.NoCover, nil, nil)
		},
		MoreWork: web.MoreWork{Frosts: h.service.Frosts, Rules: c.PlanRules()},
		MaxAge:   c.Weather.StaleAfter.Std(),
		Metrics:  promhttp.HandlerFor(m.Registry, promhttp.HandlerOpts{}), Health: h.health, Log: h.o.Log,
	})
	entry.Mount(mux, h.logPages(kit))
	setup.Mount(mux, h.setupPages(kit))
	desk.Mount(mux, h.benchPages(kit))
	return page.Secure(kit.Rescue(h.admit(mux)))
}

// admit says who makes a request. Nobody is asked yet: everybody may read, and in
// the demonstration do everything.
func (h *Host) admit(next http.Handler) http.Handler {
	check := rand.Text() // forms of the demonstration send it back
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		who := access.Open(h.o.Demo == nil)
		if h.o.Demo != nil {
			who.Check = check
		}
		next.ServeHTTP(w, r.WithContext(access.With(r.Context(), who)))
	})
}
