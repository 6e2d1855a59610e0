package service

import (
	"context"
	"fmt"
	"net/http"

	"github.com/prometheus/client_golang/prometheus/promhttp"

	"plotwarden/garden"
	"plotwarden/risk/wetness"
	"plotwarden/weather"
	"plotwarden/web"
	"plotwarden/web/account"
	"plotwarden/web/api"
	desk "plotwarden/web/bench"
	"plotwarden/web/entry"
	"plotwarden/web/page"
	"plotwarden/web/setup"
)

// pages puts all that browsers see on one mux.
func (h *Host) pages(ctx context.Context, m *Metrics) (http.Handler, error) {
	c := h.o.Config
	kit := page.New(page.Options{Demo: h.o.Demo, Credits: func() []string { return h.live.Load().credits }, Version: h.o.Version, Log: h.o.Log,
		Audit: account.Auditor{Store: h.store, Clock: h.o.Now}})
	accounts, err := h.openAccounts(ctx, kit)
	if err != nil {
		return nil, err
	}
	h.accounts = accounts
	token, err := c.Access.MetricsToken()
	if err != nil {
		return nil, fmt.Errorf("access: %w", err)
	}
	mux := page.NewMux(kit)
	h.mux = mux
	accounts.Mount(mux)
	web.Mount(mux, web.Deps{
		Kit: kit, Garden: h.service.o.Garden,
		Catalogue: h.o.Catalogue, SiteCatalogue: h.siteCatalogue, Data: h.store, Now: h.o.Now,
		Wet: func(s *weather.Series) []wetness.State {
			return wetness.Rule{Method: wetness.Humidity}.Estimate(s, garden.NoCover, nil, nil)
		},
		MoreWork: web.MoreWork{Frosts: h.service.Frosts, Rules: c.PlanRules()},
		MaxAge:   c.Weather.StaleAfter.Std(),
		Metrics:  keepIn(token, promhttp.HandlerFor(m.Registry, promhttp.HandlerOpts{})), Health: h.health, Log: h.o.Log,
	})
	entry.Mount(mux, h.logPages(kit))
	setup.Mount(mux, h.setupPages(kit))
	api.Mount(mux, api.Deps{
		Kit: kit, Garden: h.garden, Catalogue: h.o.Catalogue, Data: h.store, Now: h.o.Now, Log: h.o.Log, Audit: account.Auditor{Store: h.store, Clock: h.o.Now},
		Logged: func(site string) { h.service.Soon(site) },
	})
	desk.Mount(mux, h.benchPages(kit))
	return page.Secure(kit.Rescue(accounts.Admit(mux))), nil
}
