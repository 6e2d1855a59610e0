package nws

import (
	"context"
	"fmt"
	"math"
	"regexp"

	"plotwarden/weather/source"
)

// Station is one that reports near a place.
type Station struct {
	ID   string // as KCLE
	Name string
	At   source.Place
	Km   float64 // from the place
}

var stationName = regexp.MustCompile(`^[A-Z0-9]{3,8}$`)

// Stations returns the stations near a place, in the service's order, the
// nearest first as a rule.
func (c *Client) Stations(ctx context.Context, p source.Place) ([]Station, error) {
	var out []Station
	err := c.at(ctx, p, func(pt Point) error {
		return c.get(ctx, fmt.Sprintf("/gridpoints/%s/%d,%d/stations", pt.Office, pt.X, pt.Y), func(r *source.Response) error {
			var err error
			out, err = decodeStations(c.Name(), r.Body, p)
			return err
		})
	})
	return out, err
}

func decodeStations(name string, body []byte, p source.Place) ([]Station, error) {
	var a struct {
		Features []struct {
			Geometry struct {
				Coordinates []float64 `json:"coordinates"`
			} `json:"geometry"`
			Properties struct {
				ID        string   `json:"stationIdentifier"`
				Name      string   `json:"name"`
				Elevation quantity `json:"elevation"`
			} `json:"properties"`
		} `json:"features"`
	}
	if err := source.DecodeJSON(name, body, &a); err != nil {
		return nil, err
	}
	var out []Station
	for _, f := range a.Features {
		if !stationName.MatchString(f.Properties.ID) || len(f.Geometry.Coordinates) < 2 {
			continue
		}
		s := Station{ID: f.Properties.ID, Name: f.Properties.Name}
		s.At = source.Place{ID: s.ID, Lon: f.Geometry.Coordinates[0], Lat: f.Geometry.Coordinates[1], Elev: math.NaN()}
		if e := f.Properties.Elevation; e.Value != nil && (e.Unit == "unit:m" || e.Unit == "wmoUnit:m") {
			s.At.Elev = *e.Value
		}
		if s.At.Validate() != nil {
			continue
		}
		s.Km = p.DistanceKm(s.At)
		out = append(out, s)
	}
	if len(out) == 0 {
		return nil, source.Errorf(name, source.NoData, "no stations near the place")
	}
	return out, nil
}
