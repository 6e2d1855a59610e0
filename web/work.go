package web

import (
	"errors"
	"fmt"
	"net/http"
	"strings"

	"plotwarden/garden"
	"plotwarden/risk/wetness"
	"plotwarden/store"
	"plotwarden/web/view"
)

// work shows the hours for spraying, the clocks for the gate and what was done.
func (s *server) work(w http.ResponseWriter, r *http.Request) {
	g, site, ok := s.find(w, r)
	if !ok {
		return
	}
	in, err := s.in(w, r, g, site)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	done, err := s.Data.Treatments(r.Context(), site.ID)
	if err != nil {
		s.Kit.Fail(w, r, fmt.Errorf("read the treatments of %s: %w", site.ID, err))
		return
	}
	from, to := view.SpraySpan(in)
	series, err := s.Data.LoadWeather(r.Context(), site.ID, from, to)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		s.Kit.Fail(w, r, fmt.Errorf("read the weather of %s: %w", site.ID, err))
		return
	}
	var wet []wetness.State
	if series != nil && s.Wet != nil {
		wet = s.Wet(series)
	}
	seen, err := s.Data.Scoutings(r.Context(), site.ID)
	if err != nil {
		s.Kit.Fail(w, r, fmt.Errorf("read the scoutings of %s: %w", site.ID, err))
		return
	}
	q := r.URL.Query()
	s.pages.Show(w, r, http.StatusOK, "work", siteFrame(site, "Work, "+site.Name, "work", view.Work(in, view.Logs{Seen: garden.Looks(seen), Done: done}, series, wet, q.Get("planting"), q.Get("material"))))
}

// record is the treatment log as CSV, one row a treatment.
func (s *server) record(w http.ResponseWriter, r *http.Request) {
	g, site, ok := s.find(w, r)
	if !ok {
		return
	}
	done, err := s.Data.Treatments(r.Context(), site.ID)
	if err != nil {
		s.Kit.Fail(w, r, fmt.Errorf("read the treatments of %s: %w", site.ID, err))
		return
	}
	body, err := garden.RecordsCSV(garden.RecordsOf(done, site, g.Materials), site.Location())
	if err != nil {
		s.Kit.Fail(w, r, fmt.Errorf("write the record of %s: %w", site.ID, err))
		return
	}
	csvFile(w, "record-"+site.ID, body)
}

// csvFile answers with a table to keep.
func csvFile(w http.ResponseWriter, name string, body []byte) {
	h := w.Header()
	h.Set("Content-Type", "text/csv; charset=utf-8")
	h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", strings.Map(plainName, name)+".csv"))
	h.Set("Cache-Control", "private, no-cache")
	_, _ = w.Write(body) // a reader that went away needs no answer
}

// plainName keeps a file name to what every system takes.
func plainName(r rune) rune {
	if r == '-' || r == '_' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
		return r
	}
	return '-'
}
