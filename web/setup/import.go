package setup

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/web/page"
	"plotwarden/web/view"
)

// importPage asks what the table holds, and for the table.
func (s *server) importPage(w http.ResponseWriter, r *http.Request) {
	site, ok := s.importSite(w, r)
	if ok {
		s.showImport(w, r, http.StatusOK, site, &sent{})
	}
}

// importSite returns the site when entries may be made on it, or answers.
func (s *server) importSite(w http.ResponseWriter, r *http.Request) (*garden.Site, bool) {
	site, ok := s.site(w, r)
	if ok && !access.From(r.Context()).Log(site.ID) {
		s.Kit.Refuse(w, r, s.Kit.T(r)("With this access you may read, and change nothing."))
		return nil, false
	}
	return site, ok
}

func kindChoices(t func(string, ...any) string, now string) []page.Choice {
	out := choices("", now,
		plantingRows, t("plantings: a row each, with bed, crop and days"), scoutingRows, t("looks: what was found, or looked for and not found"),
		arrivalRows, t("a past log: year and day of the first find of one threat"), treatmentRows, t("treatments"))
	return out[1:]
}

func orderChoices(t func(string, ...any) string, now string) []page.Choice {
	return choices(t("2026-06-04, the year first"), now, monthFirst, t("6/4/2026, the month first"), dayFirst, t("4.6.2026, the day first"))
}

func (s *server) importBase(t func(string, ...any) string, site *garden.Site) View {
	return View{Back: &view.Link{Text: siteName(site), Href: siteAt(site.ID)}, Title: t("Import from a table"), Lead: t("A file with a heading and commas, semicolons or tabs between its cells, as spreadsheets save it (CSV). You see what becomes of it before anything is kept.")}
}

func (s *server) showImport(w http.ResponseWriter, r *http.Request, status int, site *garden.Site, f *sent) {
	t := s.Kit.T(r)
	v := s.importBase(t, site)
	plots := []page.Choice{{Text: t("not said")}}
	for i := range site.Plots {
		plots = append(plots, page.Choice{Value: site.Plots[i].ID, Text: plotName(&site.Plots[i])})
	}
	form := Form{
		Action: siteAt(site.ID) + "/import", Submit: t("Look at it"), Upload: true, MoreTitle: t("Only for a past log"),
		Fields: []page.Field{
			{Name: "kind", Label: t("What it holds"), Type: "select", Choices: kindChoices(t, "")},
			{Name: "order", Label: t("How days are written"), Type: "select", Choices: orderChoices(t, "")},
			{Name: "text", Label: t("Paste the table"), Type: "textarea", Hint: t("With its heading: year,date")},
		},
		More: []page.Field{
			{Name: "threat", Label: t("Threat"), Type: "select", Choices: threatChoices(s.Catalogue, t("choose"), "")},
			{Name: "plot", Label: t("Bed"), Type: "select", Choices: plots},
		},
	}
	f.fill(form.Fields, form.More)
	v.Forms = []Form{form}
	s.show(w, r, status, v)
}

// importFile shows what becomes of a table, and with do=keep keeps it.
func (s *server) importFile(w http.ResponseWriter, r *http.Request) {
	site, ok := s.importSite(w, r)
	if !ok {
		return
	}
	f, t := sentBy(r), s.Kit.T(r)
	text, err := pasted(r)
	if err != nil {
		f.faults["text"] = upperFirst(err.Error()) + "."
		s.showImport(w, r, http.StatusUnprocessableEntity, site, f)
		return
	}
	f.v.Set("text", text)
	kind := f.text("kind")
	if columnsOf[kind] == nil {
		f.faults["kind"] = t("Choose what it holds.")
	}
	if kind == arrivalRows && !contains(s.Catalogue.IDs(), f.text("threat")) {
		f.faults["threat"] = t("Choose the threat that the log is about.")
	}
	tab, broken, err := readTable(text)
	if err != nil {
		f.faults["text"] = upperFirst(err.Error()) + "."
	}
	if f.err() != nil {
		s.showImport(w, r, http.StatusUnprocessableEntity, site, f)
		return
	}
	who := access.From(r.Context())
	in := &intake{kind: kind, order: f.text("order"), site: site, threat: f.text("threat"), plot: f.text("plot"), by: who.Person, cat: s.Catalogue, today: s.today(site)}
	if in.order == "" {
		in.order = yearFirst
	}
	if in.by != "" && s.Ground.Now().Person(in.by) == nil {
		in.by = ""
	}
	in.at = s.columns(f, kind, tab)
	var missing []string
	for _, c := range columnsOf[kind] {
		if c.needed && in.at[c.key] < 0 {
			missing = append(missing, t(c.label))
		}
	}
	ever, err := s.everIn(r.Context(), site.ID)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	for i := range site.Plots { // of a site of the file there are no versions
		ever.plots[site.Plots[i].ID] = true
		for j := range site.Plots[i].Plantings {
			ever.plantings[site.Plots[i].Plantings[j].ID] = true
		}
	}
	var res *intakeResult
	if len(missing) == 0 {
		res = in.read(tab, ever)
	}
	if r.PostFormValue("do") == "keep" && res != nil {
		s.keepImport(w, r, site, in, tab, res)
		return
	}
	s.preview(w, r, site, f, in, tab, res, broken, missing)
}

// pasted returns the text of a form: a file before what was pasted.
func pasted(r *http.Request) (string, error) {
	file, _, err := r.FormFile("file")
	if err == nil {
		defer file.Close()
		b, err := io.ReadAll(io.LimitReader(file, uploadLimit))
		if err != nil {
			return "", fmt.Errorf("the file could not be read: %w", err)
		}
		if len(b) > 0 {
			return string(b), nil
		}
	} else if !errors.Is(err, http.ErrMissingFile) && !errors.Is(err, http.ErrNotMultipart) {
		return "", fmt.Errorf("the file could not be read: %w", err)
	}
	return r.PostFormValue("text"), nil
}

// columns is the map of columns: as sent, else as guessed.
func (s *server) columns(f *sent, kind string, tab *table) map[string]int {
	at := guess(kind, tab.head)
	for _, c := range columnsOf[kind] {
		if !f.v.Has("col-" + c.key) {
			continue
		}
		at[c.key] = -1
		if n, err := strconv.Atoi(f.text("col-" + c.key)); err == nil && n >= 0 && n < len(tab.head) {
			at[c.key] = n
		}
	}
	return at
}

// shownFaults and shownRows bound a preview.
const shownFaults, shownRows = 50, 8

func (s *server) preview(w http.ResponseWriter, r *http.Request, site *garden.Site, f *sent, in *intake, tab *table, res *intakeResult, broken, missing []string) {
	t := s.Kit.T(r)
	v := s.importBase(t, site)
	v.Lead = t("Nothing is kept yet. %d rows were read.", len(tab.rows))
	hidden := [][2]string{{"kind", in.kind}, {"order", f.text("order")}, {"threat", in.threat}, {"plot", in.plot}, {"text", f.v.Get("text")}}
	mapping := Form{Title: t("Which column is what"), Action: siteAt(site.ID) + "/import", Submit: t("Look again"), Quiet: true, Hidden: hidden}
	keepHidden := append([][2]string{{"do", "keep"}}, hidden...)
	for _, c := range columnsOf[in.kind] {
		list := []page.Choice{{Value: "-1", Text: t("none"), Chosen: in.at[c.key] < 0}}
		for i, h := range tab.head {
			list = append(list, page.Choice{Value: strconv.Itoa(i), Text: h, Chosen: in.at[c.key] == i})
		}
		mapping.Fields = append(mapping.Fields, page.Field{Name: "col-" + c.key, Label: t(c.label), Type: "select", Choices: list})
		keepHidden = append(keepHidden, [2]string{"col-" + c.key, strconv.Itoa(in.at[c.key])})
	}
	for _, b := range broken {
		v.Warn = append(v.Warn, upperFirst(b)+".")
	}
	if len(missing) > 0 {
		v.Warn = append(v.Warn, t("Say which column is: %s.", strings.Join(missing, ", ")))
		v.Forms = []Form{mapping}
		s.show(w, r, http.StatusOK, v)
		return
	}
	n := res.Plantings + len(res.Scoutings) + len(res.Treatments)
	if len(res.Unused) > 0 {
		if res.InNote {
			v.Warn = append(v.Warn, t("These columns are no field of ours and go into the note: %s.", strings.Join(res.Unused, ", ")))
		} else {
			v.Warn = append(v.Warn, t("These columns have no place here and stay in your file only: %s.", strings.Join(res.Unused, ", ")))
		}
	}
	if len(res.NewPlots) > 0 {
		v.Warn = append(v.Warn, t("New beds: %s.", strings.Join(res.NewPlots, ", ")))
	}
	if res.Again > 0 {
		v.Warn = append(v.Warn, t("%d rows are there already and are passed over.", res.Again))
	}
	if n > 0 {
		v.Forms = append(v.Forms, Form{Title: t("Keep them"), Action: siteAt(site.ID) + "/import", Submit: t("Keep %d rows", n), Hidden: keepHidden})
	}
	v.Forms = append(v.Forms, mapping)
	v.Lists = append(v.Lists, faultList(t, res))
	v.Lists = append(v.Lists, List{Title: t("The first of them"), Empty: t("None can be kept."), Rows: firstRows(res)})
	s.show(w, r, http.StatusOK, v)
}

func faultList(t func(string, ...any) string, res *intakeResult) List {
	l := List{Title: t("Rows left out"), Empty: t("None.")}
	for i, x := range res.Faults {
		if i == shownFaults {
			l.Rows = append(l.Rows, Row{Text: t("and %d more", len(res.Faults)-i)})
			break
		}
		l.Rows = append(l.Rows, Row{Text: t("Line %d", x.Line), Sub: upperFirst(x.Text) + "."})
	}
	return l
}

func firstRows(res *intakeResult) []Row {
	var out []Row
	if res.Site != nil {
		for i := range res.Site.Plots {
			p := &res.Site.Plots[i]
			for j := range p.Plantings {
				out = append(out, Row{Text: view.BedName(p, &p.Plantings[j]), Sub: p.Plantings[j].InGround().String()})
			}
		}
	}
	for _, x := range res.Scoutings {
		out = append(out, Row{Text: x.Threat + ", " + string(x.Finding), Sub: joinNotes(x.Date.String(), x.Note)})
	}
	for _, x := range res.Treatments {
		out = append(out, Row{Text: joinNotes(x.Material, x.Ingredient), Sub: joinNotes(x.At.Format("2006-01-02 15:04 UTC"), x.Note)})
	}
	if n := len(out); n > shownRows {
		if res.Site != nil {
			return out[n-shownRows:] // the site's own stand before them
		}
		return out[:shownRows]
	}
	return out
}

// keepImport keeps what was read. What was left out is shown to be copied: nothing
// is lost.
func (s *server) keepImport(w http.ResponseWriter, r *http.Request, site *garden.Site, in *intake, tab *table, res *intakeResult) {
	t := s.Kit.T(r)
	if in.kind == plantingRows {
		if !s.mayChange(w, r, site.ID, "") {
			return
		}
		err := s.Ground.Sites.Change(r.Context(), s.by(r, "imported plantings"), site.ID, func(x *garden.Site) error {
			if mark(x) != mark(site) {
				return store.ErrConflict // read against another state
			}
			x.Plots = res.Site.Plots
			return nil
		})
		f := sentBy(r)
		if f.refused(err, "text", nil) {
			v := s.importBase(t, site)
			for _, x := range f.faults {
				v.Warn = append(v.Warn, x+".")
			}
			s.show(w, r, http.StatusUnprocessableEntity, v)
			return
		}
		if err != nil {
			s.fail(w, r, err)
			return
		}
	}
	again := 0
	for _, x := range res.Scoutings {
		if err := s.Logs.AddScouting(r.Context(), x); errors.Is(err, store.ErrConflict) {
			again++
		} else if err != nil {
			s.fail(w, r, err)
			return
		}
	}
	for _, x := range res.Treatments {
		if err := s.Logs.AddTreatment(r.Context(), x); errors.Is(err, store.ErrConflict) {
			again++
		} else if err != nil {
			s.fail(w, r, err)
			return
		}
	}
	if s.Logged != nil {
		s.Logged(site.ID)
	}
	n := res.Plantings + len(res.Scoutings) + len(res.Treatments) - again
	s.Kit.Audit(r, "imported", site.ID, fmt.Sprintf("%d %s, %d left out", n, in.kind, len(res.Faults)))
	v := View{Back: &view.Link{Text: siteName(site), Href: siteAt(site.ID)}, Title: t("Imported"), Done: t("%d rows were kept.", n), Links: []view.Link{{Text: t("Import another table"), Href: siteAt(site.ID) + "/import"}}}
	if len(res.Faults) > 0 {
		rows := make([]tableRow, len(res.Faults))
		for i, x := range res.Faults {
			rows[i] = x.Row
		}
		v.Warn = []string{t("%d rows were left out. They stand beneath: mend them there and look again.", len(res.Faults))}
		v.Forms = []Form{{Action: siteAt(site.ID) + "/import", Submit: t("Look at these again"), Hidden: [][2]string{{"kind", in.kind}, {"order", r.PostFormValue("order")}, {"threat", in.threat}, {"plot", in.plot}},
			Fields: []page.Field{{Name: "text", Label: t("Rows left out"), Type: "textarea", Value: tab.text(rows)}}}}
		v.Lists = []List{faultList(t, res)}
	}
	s.show(w, r, http.StatusOK, v)
}
