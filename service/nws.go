package service

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sync"
	"time"

	"plotwarden/garden"
	"plotwarden/weather"
	"plotwarden/weather/nws"
	"plotwarden/weather/source"
)

// NWS makes a Source and Fetcher of a client of the US National Weather Service:
// the office's forecast, and the reports of a station near by for the hours past.
type NWS struct {
	Client  *nws.Client
	Station string // whose reports to take; "" is the nearest that has some
	Sites

	mu   sync.Mutex
	good map[string]time.Time // site: the last time that reports came
}

// Which stations speak for a site. common practice
const (
	nearKm      = 60.0
	nearMetres  = 300.0 // of height, about 2 C
	nearTries   = 3
	reportsBack = 6 * 24 * time.Hour // the service keeps about a week
	reportsLate = 6 * time.Hour      // it sends reports again when they are complete
)

// Name returns the source's name.
func (n *NWS) Name() string { return n.Client.Name() }

// Attribution returns the service's credit.
func (n *NWS) Attribution() source.Attribution { return nws.Attribution }

// Fetch asks for the forecast and for the reports since the last good ones. Where
// only one of the two came, it is returned beside the other's error.
func (n *NWS) Fetch(ctx context.Context, site *garden.Site, now time.Time) (Answer, error) {
	f, ferr := n.Client.Forecast(ctx, now, place(site))
	if ferr != nil {
		ferr = fmt.Errorf("forecast: %w", ferr)
	}
	reports, rerr := n.reports(ctx, site, now)
	if rerr != nil {
		rerr = fmt.Errorf("reports: %w", rerr)
	}
	err := errors.Join(ferr, rerr)
	if f.Series == nil && reports == nil {
		return Answer{}, err
	}
	s, cerr := weather.Combine(reports, f.Series)
	return Answer{Series: s}, errors.Join(err, cerr)
}

func (n *NWS) reports(ctx context.Context, site *garden.Site, now time.Time) (*weather.Series, error) {
	n.mu.Lock()
	from := now.Add(-reportsBack)
	if last := n.good[site.ID]; last.Add(-reportsLate).After(from) {
		from = last.Add(-reportsLate)
	}
	n.mu.Unlock()
	ids := []string{n.Station}
	if n.Station == "" {
		var err error
		if ids, err = n.near(ctx, site); err != nil {
			return nil, err
		}
	}
	var errs []error
	for _, id := range ids {
		s, err := n.Client.Observations(ctx, id, from)
		if err == nil && s.Column(weather.Temp) == nil {
			err = source.Errorf(n.Name(), source.NoData, "station %s reports no temperature", id)
		}
		if err != nil {
			errs = append(errs, err)
			continue
		}
		n.mu.Lock()
		defer n.mu.Unlock()
		if n.good == nil {
			n.good = map[string]time.Time{}
		}
		n.good[site.ID] = now
		return s, nil
	}
	return nil, errors.Join(errs...)
}

// near returns the stations that speak for a site, the nearest first.
func (n *NWS) near(ctx context.Context, site *garden.Site) ([]string, error) {
	at := place(site)
	list, err := n.Client.Stations(ctx, at)
	if err != nil {
		return nil, err
	}
	var ids []string
	for _, s := range list {
		if off := math.Abs(s.At.Elev - at.Elev); s.Km <= nearKm && !(off > nearMetres) && len(ids) < nearTries {
			ids = append(ids, s.ID)
		}
	}
	if len(ids) == 0 {
		return nil, source.Errorf(n.Name(), source.NoData, "no station within %.0f km and %.0f m of height; name one with station, or add another source", nearKm, nearMetres)
	}
	return ids, nil
}
