package service

import (
	"context"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/weather"
	"plotwarden/weather/archive"
	"plotwarden/weather/source"
)

// Archive makes a Source and Historian of the daily records of one station. Its
// hours are made from the days and are Modelled.
type Archive struct {
	Client  *archive.Client
	ID      string // name of the source
	Station string // of GHCN-Daily, as USW00094789
	Sites
}

// Name returns the source's name.
func (a *Archive) Name() string { return a.ID }

// Attribution returns the archive's credit.
func (a *Archive) Attribution() source.Attribution { return archive.Attribution }

// History asks for the station's days and makes hours of them.
func (a *Archive) History(ctx context.Context, site *garden.Site, first, last civil.Date, now time.Time) (*weather.Series, error) {
	// A day's curve leans on its neighbours.
	d, err := a.Client.Days(ctx, a.Station, first.AddDays(-1), last.AddDays(1))
	if err != nil {
		return nil, err
	}
	o := weather.Origin{Source: a.ID, Kind: weather.Modelled, Fetched: now.UTC()}
	return weather.HoursFromDays(d.Days, site.Latitude, site.Longitude, site.Location(), o), nil
}
