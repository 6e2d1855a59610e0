package web

import (
	"fmt"
	"net/http"

	"plotwarden/garden"
	"plotwarden/plan/report"
	"plotwarden/web/view"
)

// season shows the season's report: arrivals against what was said, sprays
// against a calendar.
func (s *server) season(w http.ResponseWriter, r *http.Request) {
	g, site, ok := s.find(w, r)
	if !ok {
		return
	}
	rep, err := s.report(r, g, site)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	s.pages.Show(w, r, http.StatusOK, "season", siteFrame(site, "Season, "+site.Name, "work", view.Season(site, rep)))
}

// seasonTable is one of the report's tables as CSV.
func (s *server) seasonTable(w http.ResponseWriter, r *http.Request) {
	g, site, ok := s.find(w, r)
	if !ok {
		return
	}
	rep, err := s.report(r, g, site)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	var body []byte
	table := r.PathValue("table")
	switch table {
	case "arrivals.csv":
		body, err = rep.ArrivalsCSV()
	case "sprays.csv":
		body, err = rep.SpraysCSV()
	case "uses.csv":
		body, err = rep.UsesCSV()
	default:
		s.Kit.NotFound(w, r, "There is no table of that name.")
		return
	}
	if err != nil {
		s.Kit.Fail(w, r, fmt.Errorf("write the table %s of %s: %w", table, site.ID, err))
		return
	}
	csvFile(w, site.ID+"-"+table[:len(table)-len(".csv")], body)
}

func (s *server) report(r *http.Request, g *garden.Garden, site *garden.Site) (*report.Report, error) {
	ctx := r.Context()
	first, last := view.SeasonSpan(site, s.Now())
	records, err := s.records(ctx, g, site)
	if err != nil {
		return nil, err
	}
	seen, err := s.Data.Scoutings(ctx, site.ID)
	if err != nil {
		return nil, fmt.Errorf("read the scoutings of %s: %w", site.ID, err)
	}
	as, err := s.Data.AssessmentHistory(ctx, site.ID, "", first, last)
	if err != nil {
		return nil, fmt.Errorf("read the assessments of %s: %w", site.ID, err)
	}
	in := report.Input{Site: site, First: first, Last: last, Seen: garden.Looks(seen), Assessments: as, Name: func(id string) string {
		if t, ok := s.Catalogue.ByID(id); ok {
			return t.Name
		}
		return id
	}}
	in.Records = garden.Current(records)
	rep := report.Make(in)
	return &rep, nil
}
