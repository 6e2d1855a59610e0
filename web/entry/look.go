package entry

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"plotwarden/access"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/web/page"
	"plotwarden/web/view"
)

// lookPage is the form for a look at the plants.
type lookPage struct {
	Site, List, Treat, Gate view.Link
	Action, ID, Person      string
	Replaces                string
	Beds                    []bed
	Bed                     *bed // the chosen one; nil without plantings
	Animals, Diseases       []Choice
	Percents, Stages        []Choice
	Date, Plants, Count     page.Field
	Note, Why               page.Field
	Share                   bool
	Finding                 string // of what is corrected
	Photos                  []string
	Faults                  []page.Field
}

// lookForm shows the form, with planting and threat chosen by the address.
func (s *server) lookForm(w http.ResponseWriter, r *http.Request) {
	site, ok := s.find(w, r)
	if !ok {
		return
	}
	if !access.From(r.Context()).Log(site.ID) {
		http.Redirect(w, r, view.LogHref(site.ID)+"/all", http.StatusSeeOther)
		return
	}
	q := r.URL.Query()
	s.showLook(w, r, http.StatusOK, s.sheet(r, site, url.Values{"planting": q["planting"], "threat": q["threat"]}), nil)
}

// showLook draws the form as f has it. was is the look that it corrects, or nil.
func (s *server) showLook(w http.ResponseWriter, r *http.Request, status int, f *sheet, was *garden.Scouting) {
	beds, err := s.choices(r, f.site)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	if was != nil {
		beds = s.withBed(beds, f.site, was.Planting)
	}
	t := f.t
	p := lookPage{
		Site: view.Link{Text: f.site.Name, Href: view.SiteHref(f.site.ID)}, List: view.Link{Text: t("All entries"), Href: view.LogHref(f.site.ID) + "/all"},
		Treat:  view.Link{Text: t("Log a treatment"), Href: view.LogHref(f.site.ID) + "/treatment?" + url.Values{"planting": {f.get("planting")}, "threat": {f.get("threat")}}.Encode()},
		Gate:   view.Link{Text: t("For the gate"), Href: view.SiteHref(f.site.ID) + "/gate"},
		Action: view.LogHref(f.site.ID), ID: f.get("id"), Person: f.who.Person, Replaces: f.get("replaces"), Faults: f.faults,
		Beds: beds, Bed: pick(beds, f.get("planting")), Percents: percentChoices(f.get("percent")), Stages: stageChoices(t, f.get("bbch")),
		Share: f.get("share") != "", Finding: f.get("finding"),
		Date:   f.field(page.Field{Name: "date", Label: t("Day"), Type: "date", Value: f.today().String(), Top: f.today().String()}),
		Plants: f.field(page.Field{Name: "plants", Label: t("Plants looked at"), Mode: "numeric", Max: 5}),
		Count:  f.field(page.Field{Name: "count", Label: t("Counted on them"), Hint: t("animals, or spots"), Mode: "numeric", Max: 7}),
		Note:   f.field(page.Field{Name: "note", Label: t("Note"), Type: "textarea", Max: maxNote}),
		Why:    f.field(page.Field{Name: "why", Label: t("Why it is corrected"), Hint: t("The first entry stays in the log beside it."), Required: true, Max: maxWhy}),
	}
	p.Animals, p.Diseases = seenChoices(t, true, f.get("stage")), seenChoices(t, false, f.get("stage"))
	if was != nil {
		p.Photos = was.Photos
	}
	if p.ID == "" || !goodID(p.ID) {
		p.ID = newID()
	}
	if p.Bed != nil {
		mark(p.Bed.Threats, f.get("threat"))
	}
	s.pages.Show(w, r, status, "look", page.Frame{Title: t("Log, %s", f.site.Name), Site: f.site, Here: "log", Scripts: []string{"entry.js"}, Body: p})
}

// withBed adds a planting that is no longer offered, for the correction of what was
// seen in it.
func (s *server) withBed(beds []bed, site *garden.Site, planting string) []bed {
	if planting == "" || slices.ContainsFunc(beds, func(b bed) bool { return b.Value == planting }) {
		return beds
	}
	if plot, p := site.Find(planting); p != nil {
		return append(beds, s.bed(plot, p, &emptyRound))
	}
	return beds
}

const (
	maxNote, maxWhy = 2000, 200
	maxPlants       = 10000
	maxCount        = 1000000
)

// saveLook keeps a look and leads to the page that shows it.
func (s *server) saveLook(w http.ResponseWriter, r *http.Request) {
	site, ok := s.findToLog(w, r)
	if !ok {
		return
	}
	f := s.sheet(r, site, r.PostForm)
	pictures := s.pictures(f, r)
	x, err := s.look(r, f)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	x.Entered = s.Now().UTC().Truncate(time.Second)
	if len(f.faults) > 0 {
		s.showLook(w, r, http.StatusUnprocessableEntity, f, nil)
		return
	}
	state, err := s.keepLook(r, &x, pictures)
	switch {
	case err != nil:
		s.Kit.Fail(w, r, err)
	case state == conflicting:
		s.Kit.Say(w, r, http.StatusConflict, page.Fault{Title: f.t("Already saved otherwise"),
			Text: f.t("This form was sent before, with other values, and that entry stands. Open it under all entries and correct it there, or start a new entry.")})
	default:
		http.Redirect(w, r, entryHref(site.ID, x.ID), http.StatusSeeOther)
	}
}

func entryHref(site, id string) string { return view.LogHref(site) + "/entry/" + url.PathEscape(id) }

// look reads a look from a form and says in f what is wrong with it.
func (s *server) look(r *http.Request, f *sheet) (garden.Scouting, error) {
	t := f.t
	x := garden.Scouting{
		ID: f.id(), Site: f.site.ID, Planting: f.get("planting"), Threat: f.get("threat"), Date: f.date("date", t("Day")),
		Stage: f.text("stage", t("What was seen"), 80), BBCH: f.whole("bbch", t("Growth stage"), 99), Count: f.whole("count", t("Counted on them"), maxCount),
		Percent: f.number("percent", t("How much is affected"), 100), By: f.who.Person, Note: f.text("note", t("Note"), maxNote), Share: f.get("share") != "",
		Replaces: f.get("replaces"),
	}
	if x.Date.IsZero() {
		x.Date = f.today()
	}
	if x.Date > f.today() {
		f.bad("date", t("Day"), t("The day lies ahead."))
	}
	if n := f.whole("plants", t("Plants looked at"), maxPlants); n != nil {
		x.Plants = *n
	}
	f.choice("finding", t("Finding"), &x.Finding)
	if x.Finding == "" && len(f.faults) == 0 {
		f.bad("finding", t("Finding"), t("Press one of: found, found none, not sure."))
	}
	plot, p := f.site.Find(x.Planting)
	switch {
	case p == nil:
		f.bad("planting", t("Bed"), t("Choose a bed."))
	case x.Threat == "":
		f.bad("threat", t("What you looked for"), t("Choose one."))
	default:
		x.Plot = plot.ID
		if _, ok := s.Catalogue.ByID(x.Threat); !ok {
			f.bad("threat", t("What you looked for"), t("Choose one of those offered."))
		}
	}
	f.contradictions(&x)
	if x.Replaces != "" {
		return x, s.correctsLook(r, f, &x)
	}
	return x, nil
}

// contradictions says where a finding and its numbers do not go together.
func (f *sheet) contradictions(x *garden.Scouting) {
	some := x.Count != nil && *x.Count > 0 || x.Percent != nil && *x.Percent > 0
	said := x.Count != nil || x.Percent != nil
	switch {
	case x.Finding == garden.None && some:
		f.bad("percent", f.t("How much is affected"), f.t("You pressed “found none”, and wrote a number above 0. Press “found”, or take the number out."))
	case x.Finding == garden.Found && said && !some:
		f.bad("percent", f.t("How much is affected"), f.t("You pressed “found”, and wrote 0. Press “found none”, or take the 0 out."))
	}
	if x.Finding == garden.None {
		x.Stage = "" // chosen before the button
	}
}

// correctsLook checks that a correction names a look that the person may correct.
func (s *server) correctsLook(r *http.Request, f *sheet, x *garden.Scouting) error {
	all, err := s.Data.Scoutings(r.Context(), f.site.ID)
	if err != nil {
		return fmt.Errorf("read the scoutings of %s: %w", f.site.ID, err)
	}
	i := slices.IndexFunc(all, func(y garden.Scouting) bool { return y.ID == x.Replaces })
	if i < 0 || !f.who.SeeFind(all[i]) || !f.who.Correct(f.site.ID, all[i].By) {
		f.bad("why", f.t("Why it is corrected"), f.t("There is no entry of yours to correct here."))
		return nil
	}
	if x.Why = f.text("why", f.t("Why it is corrected"), maxWhy); x.Why == "" {
		f.bad("why", f.t("Why it is corrected"), f.t("Write it in a few words."))
	}
	if x.By = all[i].By; x.By != f.who.Person {
		x.EnteredBy = f.who.Person
	}
	x.Photos = slices.Clone(all[i].Photos)
	return nil
}

// valuesOfLook fills a form from a look, for its correction.
func valuesOfLook(x *garden.Scouting) url.Values {
	v := url.Values{
		"planting": {x.Planting}, "threat": {x.Threat}, "date": {x.Date.String()}, "stage": {x.Stage}, "note": {x.Note}, "finding": {string(x.Finding)},
		"replaces": {x.ID},
	}
	set := func(name string, ok bool, text string) {
		if ok {
			v.Set(name, text)
		}
	}
	set("bbch", x.BBCH != nil, whole(x.BBCH))
	set("count", x.Count != nil, whole(x.Count))
	set("plants", x.Plants > 0, strconv.Itoa(x.Plants))
	set("share", x.Share, "yes")
	if x.Percent != nil {
		v.Set("percent", strconv.FormatFloat(*x.Percent, 'f', -1, 64))
	}
	return v
}

func whole(n *int) string {
	if n == nil {
		return ""
	}
	return strconv.Itoa(*n)
}

func localDay(t time.Time, site *garden.Site) civil.Date { return civil.Of(t, site.Location()) }
