package view

import (
	"net/url"

	"plotwarden/garden"
	"plotwarden/web/say"
)

// Link is words that lead somewhere.
type Link struct{ Text, Href string }

// SiteHref is the address of a site's page.
func SiteHref(site string) string { return "/site/" + url.PathEscape(site) }

// LogHref is the address of a site's log.
func LogHref(site string) string { return SiteHref(site) + "/log" }

// WhyHref is the address of the page that says why.
func WhyHref(site, planting, threat string) string {
	return SiteHref(site) + "/planting/" + url.PathEscape(planting) + "/threat/" + url.PathEscape(threat)
}

// WeatherHref is the address of a site's weather page.
func WeatherHref(site string) string { return SiteHref(site) + "/weather" }

// ThreatHref is the address of a threat's page in the catalogue.
func ThreatHref(threat string) string { return "/threats/" + url.PathEscape(threat) }

// PlantingName says what grows: "tomato, Roma". The bed's name is apart.
func PlantingName(p *garden.Planting) string {
	name := p.Crop
	if c, ok := garden.CropByID(p.Crop); ok {
		name = c.Name
	}
	name = say.Upper(name)
	if p.Cultivar != "" {
		name += ", " + p.Cultivar
	}
	return name
}

// BedName says where and what: "Bed 3: Tomato, Roma".
func BedName(plot *garden.Plot, p *garden.Planting) string {
	name := plot.Name
	if name == "" {
		name = plot.ID
	}
	return name + ": " + PlantingName(p)
}
