package service

import (
	"slices"

	"plotwarden/garden"
)

// Sites are the ids of the sites that a source serves; none is all.
type Sites []string

// Serves says whether a site is one of them.
func (s Sites) Serves(site *garden.Site) bool {
	return len(s) == 0 || slices.Contains(s, site.ID)
}
