package source

import (
	"fmt"
	"math"
	"strconv"
)

// Place is where weather is wanted.
type Place struct {
	ID   string  // the caller's name for it; returned unchanged
	Lat  float64 // degrees, north positive, -90 to 90
	Lon  float64 // degrees, east positive, -180 to 180
	Elev float64 // metres above sea level; NaN when not known
}

// Validate says what is wrong with the coordinates.
func (p Place) Validate() error {
	switch {
	case math.IsNaN(p.Lat) || p.Lat < -90 || p.Lat > 90:
		return fmt.Errorf("place %q: latitude %g is not between -90 and 90", p.ID, p.Lat)
	case math.IsNaN(p.Lon) || p.Lon < -180 || p.Lon > 180:
		return fmt.Errorf("place %q: longitude %g is not between -180 and 180", p.ID, p.Lon)
	case math.IsInf(p.Elev, 0) || p.Elev < -500 || p.Elev > 9000:
		return fmt.Errorf("place %q: elevation %g m is not between -500 and 9000; leave it out if unknown", p.ID, p.Elev)
	}
	return nil
}

// Coordinate writes degrees with at most four decimals, about 11 m, finer than
// any grid, and no zeros at the end: some services refuse more, or send them
// elsewhere.
func Coordinate(degrees float64) string {
	return strconv.FormatFloat(math.Round(degrees*1e4)/1e4, 'f', -1, 64)
}

// DistanceKm returns the great-circle distance between two places on a sphere
// of 6371 km.
func (p Place) DistanceKm(q Place) float64 {
	const rad = math.Pi / 180
	dLat, dLon := (q.Lat-p.Lat)*rad, (q.Lon-p.Lon)*rad
	a := math.Pow(math.Sin(dLat/2), 2) + math.Cos(p.Lat*rad)*math.Cos(q.Lat*rad)*math.Pow(math.Sin(dLon/2), 2)
	return 2 * 6371 * math.Asin(math.Sqrt(min(1, a)))
}

// Attribution is what a licence asks to be shown beside the data.
type Attribution struct {
	Text    string // "Weather data by ..."
	URL     string
	Licence string // "CC BY 4.0"
}
