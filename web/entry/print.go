package entry

import (
	"net/http"
	"time"

	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/web/page"
	"plotwarden/web/view"
)

// gatePage is what hangs at the gate.
type gatePage struct {
	Site   view.Link
	Name   string
	At     string
	Clocks []gateClock
	Note   string
}

type gateClock struct {
	Title string
	Lines []string
}

// gate shows the clocks of all beds, made to be printed.
func (s *server) gate(w http.ResponseWriter, r *http.Request) {
	site, ok := s.find(w, r)
	if !ok {
		return
	}
	all, err := s.allRecords(r.Context(), site)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	now := s.Now()
	p := gatePage{Site: view.Link{Text: site.Name, Href: view.SiteHref(site.ID)}, Name: site.Name, At: now.In(site.Location()).Format("Mon 2 Jan 2006, 15:04"), Note: plan.GateNote}
	clocks := plan.BedClocks(site, garden.Current(all), now)
	for i := range clocks {
		lines := clocks[i].Lines(site.Location())
		p.Clocks = append(p.Clocks, gateClock{lines[0], lines[1:]})
	}
	s.pages.Show(w, r, http.StatusOK, "gate", page.Frame{Title: s.words(r)("For the gate, %s", site.Name), Site: site, Here: "work", Body: p})
}

// recordPage is the treatment log with every field that has something in it.
type recordPage struct {
	Site, CSV view.Link
	Name, At  string
	From, To  page.Field
	Rows      []recordRow
	Rules     []ruleLine
}

type recordRow struct {
	Title  string
	Fields [][2]string
	Gaps   []string
	Trail  []line
	Href   string
}

type ruleLine struct {
	Name   string
	Source view.Source
}

// record is the printable record, the latest first, of a span of days.
func (s *server) record(w http.ResponseWriter, r *http.Request) {
	site, ok := s.find(w, r)
	if !ok {
		return
	}
	f := s.sheet(r, site, r.URL.Query())
	t := f.t
	all, err := s.allRecords(r.Context(), site)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	from, to := f.date("from", t("From")), f.date("to", t("To"))
	p := recordPage{Site: view.Link{Text: site.Name, Href: view.SiteHref(site.ID)}, CSV: view.Link{Text: t("As a table (CSV)"), Href: view.SiteHref(site.ID) + "/record.csv"},
		Name: site.Name, At: f.now.In(site.Location()).Format("Mon 2 Jan 2006, 15:04"),
		From: f.field(page.Field{Name: "from", Label: t("From"), Type: "date"}), To: f.field(page.Field{Name: "to", Label: t("To"), Type: "date"})}
	rules := garden.RecordRules()
	for _, rule := range rules {
		p.Rules = append(p.Rules, ruleLine{rule.Name, view.Source{Text: rule.Source, Standing: rule.Standing}})
	}
	current := garden.Current(all)
	for i := len(current) - 1; i >= 0; i-- {
		x := &current[i]
		if d := localDay(x.Start, site); from > d || !to.IsZero() && d > to {
			continue
		}
		p.Rows = append(p.Rows, s.recordRow(f, x, all))
	}
	s.pages.Show(w, r, http.StatusOK, "record", page.Frame{Title: t("Record, %s", site.Name), Site: site, Here: "log", Body: p})
}

func (s *server) recordRow(f *sheet, x *garden.Record, all []garden.Record) recordRow {
	l := f.recordLine(s, x)
	row := recordRow{Title: l.When + ": " + l.Text, Href: l.Href}
	for _, c := range garden.RecordColumns() {
		if v := c.Value(x, f.site.Location()); v != "" {
			row.Fields = append(row.Fields, [2]string{c.Title, readable(v)})
		}
	}
	for _, rule := range garden.RecordRules() {
		if gaps := x.Gaps(rule); len(gaps) > 0 {
			text := f.t("%s asks for more: ", rule.Name)
			for i, g := range gaps {
				if i > 0 {
					text += ", "
				}
				text += g
			}
			row.Gaps = append(row.Gaps, text)
		}
	}
	for _, old := range garden.Trail(all, x.ID) {
		if old.ID != x.ID {
			row.Trail = append(row.Trail, f.recordLine(s, &old))
		}
	}
	return row
}

// readable writes an instant of the log for print.
func readable(v string) string {
	if t, err := time.Parse("2006-01-02T15:04-07:00", v); err == nil {
		return t.Format("2 Jan 2006 15:04")
	}
	return v
}
