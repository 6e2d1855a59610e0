package openmeteo

import (
	"math"

	"plotwarden/weather/source"
)

// group is the places that one location of a request answers. The first place
// given speaks for them.
type group struct {
	at      source.Place
	members []int // indices into the places asked for
}

type cellKey struct{ lat, lon, elev int32 }

// groups joins places by cell and height, in the order given. Without sharing,
// places at the very same spot still share.
func groups(places []source.Place, cell, band float64) []group {
	byKey := make(map[any]int, len(places))
	var out []group
	for i, p := range places {
		var key any
		if cell > 0 {
			k := cellKey{int32(math.Floor(p.Lat / cell)), int32(math.Floor(p.Lon / cell)), math.MinInt32}
			if !math.IsNaN(p.Elev) {
				k.elev = int32(math.Floor(p.Elev / band))
			}
			key = k
		} else {
			key = source.Coordinate(p.Lat) + "," + source.Coordinate(p.Lon) + "," + elevation(p.Elev)
		}
		at, seen := byKey[key]
		if !seen {
			at = len(out)
			byKey[key] = at
			out = append(out, group{at: p})
		}
		out[at].members = append(out[at].members, i)
	}
	return out
}

// batches cuts the groups into requests. Places whose height is unknown go in
// requests of their own: the list of heights is for all places or none.
func batches(gs []group, size int) [][]group {
	var known, unknown []group
	for _, g := range gs {
		if math.IsNaN(g.at.Elev) {
			unknown = append(unknown, g)
		} else {
			known = append(known, g)
		}
	}
	var out [][]group
	for _, part := range [][]group{known, unknown} {
		for len(part) > 0 {
			n := min(size, len(part))
			out = append(out, part[:n])
			part = part[n:]
		}
	}
	return out
}
