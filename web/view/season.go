package view

import (
	"strings"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan/report"
	"plotwarden/web/say"
)

// SeasonPage is the season's report.
type SeasonPage struct {
	Site   Link
	Lines  []string     // of the whole ground
	Parts  []SeasonPart // a plot each, then what each material was followed by
	Notes  []string
	Tables []Link
}

// SeasonPart is one heading of the report with its lines.
type SeasonPart struct {
	Title string
	Lines []SeasonLine
}

// SeasonLine is a planting, with its threats under it.
type SeasonLine struct {
	Text string
	More []string
}

// parts cuts the report's lines into its headings: a blank line stands before each,
// and what belongs to a line is indented under it.
func parts(lines []string) (whole []string, out []SeasonPart) {
	head := false
	for _, l := range lines {
		switch {
		case l == "":
			head = true
		case head:
			out, head = append(out, SeasonPart{Title: l}), false
		case len(out) == 0:
			whole = append(whole, l)
		default:
			p := &out[len(out)-1]
			if text := strings.TrimSpace(l); strings.HasPrefix(l, "    ") && len(p.Lines) > 0 {
				last := &p.Lines[len(p.Lines)-1]
				last.More = append(last.More, say.Upper(text))
			} else {
				p.Lines = append(p.Lines, SeasonLine{Text: say.Upper(text)})
			}
		}
	}
	return whole, out
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
	notes := r.Notes()
	all := r.Lines()
	whole, cut := parts(all[:len(all)-len(notes)]) // the notes have a place of their own
	return SeasonPage{
		Site: Link{site.Name, SiteHref(site.ID)}, Lines: whole, Parts: cut, Notes: notes,
		Tables: []Link{{"Arrivals (CSV)", at + "/arrivals.csv"}, {"Sprays (CSV)", at + "/sprays.csv"}, {"What each use was followed by (CSV)", at + "/uses.csv"}},
	}
}
