package entry

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/web/page"
	"plotwarden/web/say"
	"plotwarden/web/view"
)

// allRecords returns every record of a site, with what was logged with fewer
// fields lifted to one, in order of start.
func (s *server) allRecords(ctx context.Context, site *garden.Site) ([]garden.Record, error) {
	out, err := s.Data.Records(ctx, site.ID)
	if err != nil {
		return nil, fmt.Errorf("read the records of %s: %w", site.ID, err)
	}
	plain, err := s.Data.Treatments(ctx, site.ID)
	if err != nil {
		return nil, fmt.Errorf("read the treatments of %s: %w", site.ID, err)
	}
	g := s.Garden() // the file's treatments too: a correction leaves them out of plain
	return garden.OnRecord(site, out, g.Materials, plain, g.Treatments), nil
}

// line is one entry in words.
type line struct {
	ID, When, Bed, Text string
	More                []string
	Href                string
	Entered             string // when, and by whom
	Why                 string // of a correction
	Stands, Withdrawn   bool
	Photos              []view.Link
	at                  time.Time
}

func (f *sheet) lookLine(s *server, x *garden.Scouting) line {
	t := f.t
	l := line{ID: x.ID, When: dayText(f, x.Date.Start(f.site.Location())), Href: entryHref(f.site.ID, x.ID), Why: x.Why, Withdrawn: x.Withdrawn,
		at: x.Date.Slot(12, 0, f.site.Location())}
	if plot, p := f.site.Find(x.Planting); p != nil {
		l.Bed = view.BedName(plot, p)
	}
	name := x.Threat
	if c, ok := s.Catalogue.ByID(x.Threat); ok {
		name = c.Name
	}
	words := map[garden.Finding]string{garden.Found: "%s: found", garden.None: "%s: looked, found none", garden.Unsure: "%s: looked, not sure"}
	l.Text = t(words[x.Finding], say.Upper(name))
	if x.Stage != "" {
		l.More = append(l.More, t(x.Stage))
	}
	if x.Percent != nil {
		l.More = append(l.More, t("%s %% affected", say.Number(*x.Percent)))
	}
	if x.Plants > 0 {
		l.More = append(l.More, t("plants looked at: %d", x.Plants))
	}
	if x.Count != nil {
		l.More = append(l.More, t("counted: %d", *x.Count))
	}
	if x.BBCH != nil {
		l.More = append(l.More, t("growth stage %d", *x.BBCH))
	}
	if x.Share {
		l.More = append(l.More, t("shared with the ground"))
	}
	if x.Note != "" {
		l.More = append(l.More, x.Note)
	}
	l.Entered, l.Photos = f.entered(x.Entered, cmp.Or(x.EnteredBy, x.By), s), photoLinks(f, x.Photos)
	return l
}

func (f *sheet) recordLine(s *server, x *garden.Record) line {
	t := f.t
	l := line{ID: x.ID, When: dayText(f, x.Start) + " " + x.Start.In(f.site.Location()).Format("15:04"), Href: entryHref(f.site.ID, x.ID), Why: x.Why, Withdrawn: x.Withdrawn, at: x.Start}
	if plot, p := f.site.Find(x.Planting); p != nil {
		l.Bed = view.BedName(plot, p)
	}
	l.Text = cmp.Or(x.Product, x.Ingredient, x.Material, x.Method, t("Work"))
	if x.Ingredient != "" && !strings.EqualFold(x.Ingredient, l.Text) {
		l.Text += " (" + x.Ingredient + ")"
	}
	l.Text = say.Upper(l.Text)
	if x.Test {
		l.More = append(l.More, t("a test on a few leaves"))
	}
	for _, id := range x.Threats {
		name := id
		if c, ok := s.Catalogue.ByID(id); ok {
			name = c.Name
		}
		l.More = append(l.More, t("against %s", name))
	}
	if w := x.Weather; w != nil && w.Temp != nil {
		l.More = append(l.More, t("at that hour %s C, from %s", say.Number(*w.Temp), w.Source))
	}
	if !x.ReEntry.IsZero() {
		l.More = append(l.More, t("re-entry from %s", dayText(f, x.ReEntry)+" "+x.ReEntry.In(f.site.Location()).Format("15:04")))
	}
	if !x.HarvestFrom.IsZero() {
		l.More = append(l.More, t("harvest from %s", x.HarvestFrom.Format("2 Jan 2006")))
	}
	if len(x.Against) > 0 {
		l.More = append(l.More, t("stood against it: %s", strings.Join(x.Against, ", ")))
	}
	if x.Despite != "" {
		l.More = append(l.More, t("done all the same: %s", x.Despite))
	}
	if x.Result != "" {
		l.More = append(l.More, t("afterwards: %s", t(string(x.Result))))
	}
	if x.Note != "" {
		l.More = append(l.More, x.Note)
	}
	l.Entered, l.Photos = f.entered(x.Entered, cmp.Or(x.EnteredBy, x.By), s), photoLinks(f, x.Photos)
	return l
}

func dayText(f *sheet, t time.Time) string {
	return t.In(f.site.Location()).Format("Mon 2 Jan 2006")
}

// entered says when an entry came in and who wrote it.
func (f *sheet) entered(at time.Time, by string, s *server) string {
	name := by
	for i := range s.Garden().People {
		if p := &s.Garden().People[i]; p.ID == by && p.Name != "" {
			name = p.Name
		}
	}
	when := ""
	if !at.IsZero() {
		when = dayText(f, at) + " " + at.In(f.site.Location()).Format("15:04")
	}
	switch {
	case when == "":
		return name
	case name == "":
		return f.t("entered %s", when)
	}
	return f.t("entered %s by %s", when, name)
}

func photoLinks(f *sheet, ids []string) []view.Link {
	var out []view.Link
	for i, id := range ids {
		out = append(out, view.Link{Text: f.t("Photo %d", i+1), Href: view.LogHref(f.site.ID) + "/photo/" + url.PathEscape(id)})
	}
	return out
}

// savedPage shows an entry with its trail.
type savedPage struct {
	Site, Again, List view.Link
	Now               line
	Trail             []line // what came before it and beside it
	Twice             bool   // corrected by two at once
	Undone, May       bool
	Correct, Undo     string
	Fresh             bool // has just been saved
}

// entryOf is a look or a record, whichever has an id.
type entryOf struct {
	looks   []garden.Scouting // its trail; empty for a record
	records []garden.Record
}

func (s *server) entry(r *http.Request, site *garden.Site, id string) (entryOf, error) {
	var e entryOf
	seen, err := s.Data.Scoutings(r.Context(), site.ID)
	if err != nil {
		return e, fmt.Errorf("read the scoutings of %s: %w", site.ID, err)
	}
	if e.looks = garden.LookTrail(seen, id); len(e.looks) > 0 {
		e.looks = access.From(r.Context()).Finds(e.looks)
		return e, nil
	}
	all, err := s.allRecords(r.Context(), site)
	e.records = garden.Trail(all, id)
	return e, err
}

// saved shows one entry, with undo and correct.
func (s *server) saved(w http.ResponseWriter, r *http.Request) {
	site, ok := s.find(w, r)
	if !ok {
		return
	}
	e, err := s.entry(r, site, r.PathValue("entry"))
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	f := s.sheet(r, site, nil)
	p, ok := s.savedPage(f, &e)
	if !ok {
		s.Kit.NotFound(w, r, "There is no such entry in the log here.")
		return
	}
	s.pages.Show(w, r, http.StatusOK, "saved", page.Frame{Title: p.Now.Text, Site: site, Here: "log", Body: p})
}

func (s *server) savedPage(f *sheet, e *entryOf) (savedPage, bool) {
	p := savedPage{Site: view.Link{Text: f.site.Name, Href: view.SiteHref(f.site.ID)}, List: view.Link{Text: f.t("All entries"), Href: view.LogHref(f.site.ID) + "/all"}}
	var lines []line
	var stands, by, planting string
	replaced := map[string]int{}
	for i := range e.looks {
		x := &e.looks[i]
		lines = append(lines, f.lookLine(s, x))
		replaced[x.Replaces]++
		by, planting = x.By, x.Planting
	}
	for i := range e.records {
		x := &e.records[i]
		lines = append(lines, f.recordLine(s, x))
		replaced[x.Replaces]++
		by, planting = x.By, x.Planting
	}
	if len(lines) == 0 {
		return p, false
	}
	first := lines[0].ID
	if len(e.looks) > 0 {
		stands = cmp.Or(garden.LookInstead(e.looks, first), first)
	} else {
		stands = cmp.Or(garden.SupersededBy(e.records, first), first)
	}
	for _, l := range lines {
		if l.ID == stands {
			l.Stands = true
			p.Now, p.Undone = l, l.Withdrawn
			continue
		}
		p.Trail = append(p.Trail, l)
	}
	for id, n := range replaced {
		p.Twice = p.Twice || id != "" && n > 1
	}
	p.May = f.who.Correct(f.site.ID, by) && !p.Undone
	p.Correct, p.Undo = entryHref(f.site.ID, stands)+"/correct", entryHref(f.site.ID, stands)+"/undo"
	p.Fresh = len(lines) == 1
	p.Again = view.Link{Text: f.t("Log another"), Href: view.LogHref(f.site.ID) + "?" + url.Values{"planting": {planting}}.Encode()}
	return p, true
}

// undo takes an entry back: it stays in the log, withdrawn.
func (s *server) undo(w http.ResponseWriter, r *http.Request) {
	site, ok := s.findToLog(w, r)
	if !ok {
		return
	}
	e, err := s.entry(r, site, r.PathValue("entry"))
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	f := s.sheet(r, site, nil)
	p, ok := s.savedPage(f, &e)
	switch {
	case !ok:
		s.Kit.NotFound(w, r, "There is no such entry in the log here.")
		return
	case p.Undone:
		http.Redirect(w, r, entryHref(site.ID, p.Now.ID), http.StatusSeeOther)
		return
	case !p.May:
		s.Kit.Refuse(w, r, "Only who logged it, or who looks after the ground, takes it back.")
		return
	}
	at, id := f.now.UTC().Truncate(time.Second), newID()
	if len(e.looks) > 0 {
		x := e.looks[slices.IndexFunc(e.looks, func(x garden.Scouting) bool { return x.ID == p.Now.ID })]
		x.ID, x.Replaces, x.Why, x.Withdrawn, x.Entered, x.EnteredBy = id, x.ID, "taken back", true, at, f.who.Person
		err = s.Data.AddScouting(r.Context(), x)
	} else {
		x := e.records[slices.IndexFunc(e.records, func(x garden.Record) bool { return x.ID == p.Now.ID })]
		x.ID, x.Replaces, x.Why, x.Withdrawn, x.Entered, x.EnteredBy = id, x.ID, "taken back", true, at, f.who.Person
		err = s.Data.AddRecord(r.Context(), x)
	}
	if err != nil {
		s.Kit.Fail(w, r, fmt.Errorf("take back an entry of %s: %w", site.ID, err))
		return
	}
	s.logged(site.ID)
	s.Kit.Audit(r, "withdrew-entry", site.ID+"/"+p.Now.ID, "")
	http.Redirect(w, r, entryHref(site.ID, id), http.StatusSeeOther)
}

// correct shows the form of an entry again, filled in.
func (s *server) correct(w http.ResponseWriter, r *http.Request) {
	site, ok := s.findToLog(w, r)
	if !ok {
		return
	}
	e, err := s.entry(r, site, r.PathValue("entry"))
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	f := s.sheet(r, site, nil)
	p, ok := s.savedPage(f, &e)
	switch {
	case !ok:
		s.Kit.NotFound(w, r, "There is no such entry in the log here.")
	case !p.May:
		s.Kit.Refuse(w, r, "Only who logged it, or who looks after the ground, corrects it.")
	case len(e.looks) > 0:
		x := &e.looks[slices.IndexFunc(e.looks, func(x garden.Scouting) bool { return x.ID == p.Now.ID })]
		f.v = valuesOfLook(x)
		s.showLook(w, r, http.StatusOK, f, x)
	default:
		x := &e.records[slices.IndexFunc(e.records, func(x garden.Record) bool { return x.ID == p.Now.ID })]
		f.v = valuesOfRecord(x, site)
		s.showTreat(w, r, http.StatusOK, f, x)
	}
}

// listPage is what was logged, latest first.
type listPage struct {
	Site, Look, Treat, Record, CSV, Gate view.Link
	May                                  bool
	Lines                                []line
	More                                 string // address of older ones
}

const listPer = 50

func (s *server) list(w http.ResponseWriter, r *http.Request) {
	site, ok := s.find(w, r)
	if !ok {
		return
	}
	f := s.sheet(r, site, r.URL.Query())
	t := f.t
	seen, err := s.Data.Scoutings(r.Context(), site.ID)
	if err != nil {
		s.Kit.Fail(w, r, fmt.Errorf("read the scoutings of %s: %w", site.ID, err))
		return
	}
	records, err := s.allRecords(r.Context(), site)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	at := view.LogHref(site.ID)
	p := listPage{Site: view.Link{Text: site.Name, Href: view.SiteHref(site.ID)}, Look: view.Link{Text: t("Log a look"), Href: at}, Treat: view.Link{Text: t("Log a treatment"), Href: at + "/treatment"},
		Record: view.Link{Text: t("The record, to print"), Href: view.SiteHref(site.ID) + "/record"}, CSV: view.Link{Text: t("The record as a table (CSV)"), Href: view.SiteHref(site.ID) + "/record.csv"},
		Gate: view.Link{Text: t("For the gate"), Href: view.SiteHref(site.ID) + "/gate"}, May: f.who.Log(site.ID)}
	for _, x := range f.who.Finds(garden.Looks(seen)) {
		p.Lines = append(p.Lines, f.lookLine(s, &x))
	}
	for _, x := range garden.Current(records) {
		p.Lines = append(p.Lines, f.recordLine(s, &x))
	}
	slices.SortStableFunc(p.Lines, func(a, b line) int { return b.at.Compare(a.at) })
	from := 0
	if n := f.whole("from", "", 1e6); n != nil {
		from = min(*n, len(p.Lines))
	}
	to := min(from+listPer, len(p.Lines))
	if to < len(p.Lines) {
		p.More = fmt.Sprintf("%s/all?from=%d", at, to)
	}
	p.Lines = p.Lines[from:to]
	s.pages.Show(w, r, http.StatusOK, "list", page.Frame{Title: t("All entries, %s", site.Name), Site: site, Here: "log", Body: p})
}

// mayReadPhoto says whether a photo belongs to an entry that the person may read.
func (s *server) mayReadPhoto(r *http.Request, p *store.Photo) (bool, error) {
	who := access.From(r.Context())
	seen, err := s.Data.Scoutings(r.Context(), p.Site)
	if err != nil {
		return false, fmt.Errorf("read the scoutings of %s: %w", p.Site, err)
	}
	for i := range seen {
		if slices.Contains(seen[i].Photos, p.ID) && who.SeeFind(seen[i]) {
			return true, nil
		}
	}
	records, err := s.Data.Records(r.Context(), p.Site)
	if err != nil {
		return false, fmt.Errorf("read the records of %s: %w", p.Site, err)
	}
	return slices.ContainsFunc(records, func(x garden.Record) bool { return slices.Contains(x.Photos, p.ID) }) && who.Via != access.ByShare, nil
}
