package page

import (
	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/web/view"
)

// Entry is one entry of the navigation.
type Entry struct {
	Text, Href string
	Here       bool
}

// nav returns the entries that the reader has: those of the site, then the
// general ones.
func nav(site *garden.Site, here string, who access.Who, language string) []Entry {
	t := translator(language)
	var out []Entry
	add := func(key, text, href string) { out = append(out, Entry{t(text), href, key == here}) }
	if site == nil {
		add("beds", "Beds", "/")
	} else {
		add("beds", "Beds", view.SiteHref(site.ID))
		add("rain", "Rain", view.RainHref(site.ID))
		add("weather", "Weather", view.WeatherHref(site.ID))
		add("work", "Work", view.WorkHref(site.ID))
		add("log", "Log", view.LogHref(site.ID))
	}
	add("threats", "Threats", "/threats")
	if who.Role == access.Volunteer {
		add("region", "Region", "/region")
	}
	if who.Manage() || who.Role == access.Grower || who.Role == access.Volunteer {
		add("setup", "Set-up", "/setup")
	}
	switch {
	case who.Via == access.BySession:
		add("account", "Account", "/account")
	case who.Via == access.ByShare, !who.SignedIn():
		add("sign-in", "Sign in", SignInPath)
	}
	return out
}
