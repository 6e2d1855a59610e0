package garden

import (
	_ "embed"
	"errors"
	"strings"
	"time"

	"plotwarden/strict"
)

// zonesText lists the names of the IANA time-zone database, one a line. Names
// newer than the list are good where the machine's own database has them; the
// list only serves to find the nearest spelling.
//
//go:embed zones.txt
var zonesText string

// Zones returns the names of the time zones in order.
func Zones() []string { return strings.Fields(zonesText) }

var errNotAZone = errors.New("not the name of a place's time zone")

// loadZone refuses what package time takes but names no place: the empty name
// (UTC) and Local (wherever the program runs).
func loadZone(name string) (*time.Location, error) {
	if name == "" || name == "Local" {
		return nil, errNotAZone
	}
	return time.LoadLocation(name)
}

// unknownZone says that a zone is not known, with the nearest spelling. People
// often write the city alone, or a blank for the underscore.
func unknownZone(name string) string {
	zones := Zones()
	plain := strings.ToLower(strings.ReplaceAll(strings.TrimSpace(name), " ", "_"))
	cities := make([]string, len(zones))
	for i, z := range zones {
		if strings.ToLower(z) == plain {
			return suggestZone(name, z)
		}
		cities[i] = z[strings.LastIndexByte(z, '/')+1:]
	}
	if near, ok := strict.Nearest(plain, zones); ok {
		return suggestZone(name, near)
	}
	if near, ok := strict.Nearest(plain[strings.LastIndexByte(plain, '/')+1:], cities); ok {
		for i, c := range cities {
			if c == near {
				return suggestZone(name, zones[i])
			}
		}
	}
	return strict.Unknown("zone", name, zones) + "; write an IANA name, such as America/New_York"
}

func suggestZone(name, near string) string {
	return `zone "` + name + `" is not known; did you mean "` + near + `"?`
}

// fixedZone says whether a name stands for a fixed distance from UTC and not
// for a place with its clock changes.
func fixedZone(name string) bool {
	switch name {
	case "EST", "MST", "HST", "UTC", "UCT", "GMT", "GMT0", "GMT+0", "GMT-0", "Greenwich", "Universal", "Zulu":
		return true
	}
	return strings.HasPrefix(name, "Etc/")
}
