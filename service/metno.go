package service

import (
	"context"
	"time"

	"plotwarden/garden"
	"plotwarden/weather/metno"
	"plotwarden/weather/source"
)

// METNorway makes a Source and Fetcher of a client of MET Norway. It has the
// forecast only.
type METNorway struct {
	Client *metno.Client
	Sites
}

// Name returns the source's name.
func (m *METNorway) Name() string { return m.Client.Name() }

// Attribution returns the credit that the licence asks for.
func (m *METNorway) Attribution() source.Attribution { return metno.Attribution }

// Fetch asks for the forecast.
func (m *METNorway) Fetch(ctx context.Context, site *garden.Site, now time.Time) (Answer, error) {
	r, err := m.Client.Forecast(ctx, now, place(site))
	return Answer{Series: r.Series}, err
}
