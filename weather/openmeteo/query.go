package openmeteo

import (
	"net/url"
	"strconv"
	"strings"

	"plotwarden/weather/source"
)

// query asks for hours in our units at the places, whose heights are either all
// known or all unknown.
func (c *Client) query(vs []variable, places ...source.Place) url.Values {
	lat, lon, elev := make([]string, len(places)), make([]string, len(places)), make([]string, len(places))
	for i, p := range places {
		lat[i], lon[i], elev[i] = source.Coordinate(p.Lat), source.Coordinate(p.Lon), elevation(p.Elev)
	}
	q := url.Values{
		"latitude":           {strings.Join(lat, ",")},
		"longitude":          {strings.Join(lon, ",")},
		"hourly":             {strings.Join(names(vs), ",")},
		"timezone":           {"GMT"},
		"timeformat":         {"unixtime"},
		"temperature_unit":   {"celsius"},
		"wind_speed_unit":    {"ms"},
		"precipitation_unit": {"mm"},
	}
	if elev[0] != "" { // left out, the service takes the height from its own map
		q.Set("elevation", strings.Join(elev, ","))
	}
	if c.c.Key != "" {
		q.Set("apikey", c.c.Key)
	}
	return q
}

// elevation is in whole metres, "" when unknown.
func elevation(m float64) string {
	if m != m {
		return ""
	}
	return strconv.FormatFloat(m, 'f', 0, 64)
}
