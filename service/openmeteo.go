package service

import (
	"context"
	"math"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/weather"
	"plotwarden/weather/openmeteo"
	"plotwarden/weather/source"
)

// OpenMeteo makes a Source, Fetcher, BatchFetcher and Historian of an Open-Meteo
// client.
type OpenMeteo struct {
	Client              *openmeteo.Client
	PastDays, AheadDays int
	EnsembleSites       int // up to how many sites ensembles are asked for
	Sites
}

// Name returns the source's name.
func (o *OpenMeteo) Name() string { return o.Client.Name() }

// Attribution returns the credit that the licence asks for.
func (o *OpenMeteo) Attribution() source.Attribution { return o.Client.Attribution() }

// Fetch asks for the forecast and the days just past.
func (o *OpenMeteo) Fetch(ctx context.Context, site *garden.Site, now time.Time) (Answer, error) {
	r := o.Client.Forecast(ctx, now, []openmeteo.Place{place(site)}, o.PastDays, o.AheadDays)[0]
	return answer(r), r.Err
}

func answer(r openmeteo.Result) Answer {
	a := Answer{Series: r.Series}
	if e := r.Cell.Elev; r.Err == nil && !math.IsNaN(e) {
		a.Elevation = &e
	}
	return a
}

// FetchAll asks for many sites a request, and once for those of one grid cell.
func (o *OpenMeteo) FetchAll(ctx context.Context, sites []*garden.Site, now time.Time, give func(i int, a Answer, err error)) {
	places := make([]openmeteo.Place, len(sites))
	for i, s := range sites {
		places[i] = place(s)
	}
	o.Client.Each(ctx, now, places, o.PastDays, o.AheadDays, func(i int, r openmeteo.Result) { give(i, answer(r), r.Err) })
}

// EnsemblesFor says whether the service is asked for the ensembles of so many sites.
func (o *OpenMeteo) EnsemblesFor(sites int) bool { return sites <= o.EnsembleSites }

// Ensembles asks for the runs of many sites a request, and once for those of one
// grid cell.
func (o *OpenMeteo) Ensembles(ctx context.Context, sites []*garden.Site, now time.Time, give func(i int, runs []*weather.Series, err error)) {
	places := make([]openmeteo.Place, len(sites))
	for i, s := range sites {
		places[i] = place(s)
	}
	o.Client.EachEnsemble(ctx, now, places, func(i int, m openmeteo.Members, err error) { give(i, m.Series, err) })
}

// History asks the archive. It lags some days, which the forecast's past days
// cover.
func (o *OpenMeteo) History(ctx context.Context, site *garden.Site, first, last civil.Date, now time.Time) (*weather.Series, error) {
	// The archive counts days in UTC; one more on each side covers any zone.
	r, err := o.Client.Archive(ctx, place(site), first.AddDays(-1), min(last.AddDays(1), civil.Of(now, time.UTC).AddDays(-1)))
	return r.Series, err
}

func place(site *garden.Site) source.Place {
	p := source.Place{ID: site.ID, Lat: site.Latitude, Lon: site.Longitude, Elev: float64(site.Elevation)}
	if p.Elev == 0 {
		p.Elev = math.NaN() // not said; sea level itself is no worse served by the grid's own height
	}
	return p
}
