package view

import (
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan/report"
)

// SeasonPage is the season's report.
type SeasonPage struct {
	Site   Link
	Lines  []string
	Notes  []string
	Tables []Link
}

// SeasonHref is the address of a site's season page.
func SeasonHref(site string) string { return SiteHref(site) + "/season" }

// SeasonSpan is the running season up to today.
func SeasonSpan(site *garden.Site, now time.Time) (first, last civil.Date) {
	today := civil.Of(now, site.Location())
	return site.Season().OnOrBefore(today), today
}

// Season builds the page.
func Season(site *garden.Site, r *report.Report) SeasonPage {
	at := SeasonHref(site.ID)
	return SeasonPage{
		Site: Link{site.Name, SiteHref(site.ID)}, Lines: r.Lines(), Notes: r.Notes(),
		Tables: []Link{{"Arrivals (CSV)", at + "/arrivals.csv"}, {"Sprays (CSV)", at + "/sprays.csv"}, {"What each use was followed by (CSV)", at + "/uses.csv"}},
	}
}
