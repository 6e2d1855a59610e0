package setup

import (
	"context"
	"fmt"
	"net/http"
	"slices"

	"plotwarden/access"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/web/page"
	"plotwarden/web/view"
)

func siteAt(site string) string          { return "/setup/site/" + site }
func plotAt(site, plot string) string    { return siteAt(site) + "/plots/" + plot }
func plantingAt(site, id string) string  { return siteAt(site) + "/plantings/" + id }
func historyAt(kind, id string) string   { return "/setup/history/" + kind + "/" + id }
func plotName(p *garden.Plot) string     { return orID(p.Name, p.ID) }
func siteName(s *garden.Site) string     { return orID(s.Name, s.ID) }
func personName(p *garden.Person) string { return orID(p.Name, p.ID) }
func regionName(g *garden.Region) string { return orID(g.Name, g.ID) }

// heightText is empty where no height was given: the grid's stands in.
func heightText(m garden.Metres) string {
	if m == 0 {
		return ""
	}
	return num(float64(m)) + " m"
}

func orID(name, id string) string {
	if name == "" {
		return id
	}
	return name
}

func (s *server) sitePage(w http.ResponseWriter, r *http.Request) {
	if site, ok := s.site(w, r); ok {
		s.showSite(w, r, http.StatusOK, site, &sent{}, &sent{})
	}
}

// fixed says why a thing cannot be changed here; empty where it can.
func (s *server) fixed(t func(string, ...any) string, kind, id string) string {
	if s.Ground.Now().FromFile(kind, id) {
		return t("This is set in the configuration file. It is shown here and changed there.")
	}
	return ""
}

func (s *server) showSite(w http.ResponseWriter, r *http.Request, status int, site *garden.Site, f, plot *sent) {
	t, who, today := s.Kit.T(r), access.From(r.Context()), s.today(site)
	v := View{Back: s.back(t), ListsFirst: true, Title: siteName(site), Done: words(t, r), Fixed: s.fixed(t, store.SiteThing, site.ID)}
	_, warnings := s.Ground.Sites.Check(site)
	for _, x := range warnings {
		v.Warn = append(v.Warn, upperFirst(x.Message)+".")
	}
	for i := range site.Plots {
		p := &site.Plots[i]
		may := v.Fixed == "" && who.Change(site.ID, p.ID)
		v.Lists = append(v.Lists, s.plotList(t, site, p, today, may))
	}
	v.Links = []view.Link{{Text: t("To its page"), Href: view.SiteHref(site.ID)}}
	if who.Log(site.ID) {
		v.Links = append(v.Links, view.Link{Text: t("Import from a table"), Href: siteAt(site.ID) + "/import"})
	}
	if v.Fixed == "" && who.Change(site.ID, "") {
		v.Links = append(v.Links, view.Link{Text: t("Earlier versions"), Href: historyAt(store.SiteThing, site.ID)})
		add := Form{Title: t("Add a bed"), Action: siteAt(site.ID) + "/plots", Submit: t("Add the bed"), Quiet: true, Fields: []page.Field{{Name: "plot", Label: t("Name of the bed"), Hint: t("As on its sign."), Required: true, Max: 60}}}
		plot.fill(add.Fields)
		form := Form{
			Title: t("The ground itself"), Action: siteAt(site.ID), Submit: t("Keep"), Quiet: true, Hidden: [][2]string{{"mark", markSite(site)}},
			Fields: []page.Field{
				{Name: "name", Label: t("Name of the ground"), Value: site.Name, Required: true, Max: 80},
				{Name: "elevation", Label: t("Height"), Value: heightText(site.Elevation), Hint: t("Empty: the height that the weather service knows there."), Max: 20},
				{Name: "zone", Label: t("Time zone"), Value: site.Zone, Required: true, Max: 64},
				{Name: "seasonStart", Label: t("First day of the season"), Value: site.SeasonStart.String(), Max: 5, Hint: t("Month and day, as 01-01; leave it empty for 1 January, and 1 July south of the equator.")},
			},
		}
		f.fill(form.Fields)
		v.Forms = []Form{add, form}
		if who.Manage() {
			v.Forms = append(v.Forms, Form{Title: t("Remove the ground"), Lead: t("Nothing is fetched or told for it any more. Its log stays in the store, and it can be brought back."), Action: siteAt(site.ID) + "/remove", Submit: t("Remove %s", siteName(site)), Grave: true})
		}
	}
	s.show(w, r, status, v)
}

// plotList is a bed with what stands in it.
func (s *server) plotList(t func(string, ...any) string, site *garden.Site, p *garden.Plot, today civil.Date, may bool) List {
	l := List{Title: plotName(p), Empty: t("Nothing stands here.")}
	past := 0
	for i := range p.Plantings {
		x := &p.Plantings[i]
		if !x.Removed.IsZero() && x.Removed <= today {
			past++
			continue
		}
		row := Row{Text: view.PlantingName(x), Sub: since(t, x), Href: plantingAt(site.ID, x.ID)}
		if may && x.GrowingOn(today) {
			row.Acts = []Act{{Text: t("Pulled: plant next"), About: view.BedName(p, x), Action: plantingAt(site.ID, x.ID) + "/end"}}
		}
		l.Rows = append(l.Rows, row)
	}
	if past > 0 {
		l.Rows = append(l.Rows, Row{Text: t("%d ended", past), Href: plotAt(site.ID, p.ID)})
	}
	if may {
		l.Add = &view.Link{Text: t("Plant in %s", plotName(p)), Href: plotAt(site.ID, p.ID) + "/plant"}
	}
	return l
}

func since(t func(string, ...any) string, p *garden.Planting) string {
	switch {
	case !p.PlantedOut.IsZero():
		return t("planted out %s", p.PlantedOut.Format("2 Jan 2006"))
	case !p.Sown.IsZero():
		return t("sown %s", p.Sown.Format("2 Jan 2006"))
	}
	return ""
}

// markSite is of what the form of a site shows, so that a planting that somebody
// adds meanwhile is in nobody's way.
func markSite(s *garden.Site) string {
	x := *s
	x.Plots = nil
	return mark(x)
}

func (s *server) changeSite(w http.ResponseWriter, r *http.Request) {
	site, ok := s.site(w, r)
	if !ok || !s.mayChange(w, r, site.ID, "") {
		return
	}
	f := sentBy(r)
	err := s.Ground.Sites.Change(r.Context(), s.by(r, "changed the ground"), site.ID, func(x *garden.Site) error {
		if f.text("mark") != markSite(x) {
			return errMeanwhile
		}
		x.Name, x.Zone, x.Elevation, x.SeasonStart = f.text("name"), f.text("zone"), 0, civil.MonthDay{}
		f.read("elevation", &x.Elevation)
		f.read("seasonStart", &x.SeasonStart)
		return f.err()
	})
	if f.refused(err, "name", nil) {
		s.showSite(w, r, http.StatusUnprocessableEntity, s.Ground.Now().Site(site.ID), f, &sent{})
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "changed-site", site.ID, "")
	s.done(w, r, siteAt(site.ID), "kept")
}

func (s *server) removeSite(w http.ResponseWriter, r *http.Request) {
	site, ok := s.site(w, r)
	if !ok || !s.manage(w, r) {
		return
	}
	if err := s.Ground.Sites.Remove(r.Context(), s.by(r, "removed"), site.ID); err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "removed-site", site.ID, site.Name)
	s.done(w, r, historyAt(store.SiteThing, site.ID), "removed")
}

func (s *server) addPlot(w http.ResponseWriter, r *http.Request) {
	site, ok := s.site(w, r)
	if !ok || !s.mayChange(w, r, site.ID, "") {
		return
	}
	f, t := sentBy(r), s.Kit.T(r)
	name := f.text("plot")
	if name == "" {
		f.faults["plot"] = t("Write what is on its sign.")
	}
	taken, err := s.everIn(r.Context(), site.ID)
	if err == nil {
		err = f.err()
	}
	if err == nil {
		err = s.Ground.Sites.Change(r.Context(), s.by(r, "added a bed"), site.ID, func(x *garden.Site) error {
			x.Plots = append(x.Plots, garden.Plot{ID: newID(name, "bed", taken.plots), Name: name})
			return nil
		})
	}
	if f.refused(err, "plot", map[string]string{"name": "plot", "id": "plot"}) {
		s.showSite(w, r, http.StatusUnprocessableEntity, site, &sent{}, f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "changed-site", site.ID, "bed "+name)
	s.done(w, r, siteAt(site.ID), "kept")
}

// taken are the ids that parts of a site have or had: what was logged is kept under
// them.
type taken struct{ plots, plantings map[string]bool }

func (s *server) everIn(ctx context.Context, site string) (taken, error) {
	out := taken{map[string]bool{}, map[string]bool{}}
	versions, err := s.Ground.Sites.Versions(ctx, site)
	if err != nil {
		return out, err
	}
	for _, v := range versions {
		if v.Value == nil {
			continue
		}
		for i := range v.Value.Plots {
			out.plots[v.Value.Plots[i].ID] = true
			for j := range v.Value.Plots[i].Plantings {
				out.plantings[v.Value.Plots[i].Plantings[j].ID] = true
			}
		}
	}
	return out, nil
}

// plot returns the bed of the address, or answers.
func (s *server) plot(w http.ResponseWriter, r *http.Request) (*garden.Site, *garden.Plot, bool) {
	site, ok := s.site(w, r)
	if !ok {
		return nil, nil, false
	}
	if p := plotOf(site, r.PathValue("plot")); p != nil {
		return site, p, true
	}
	s.Kit.NotFound(w, r, "There is no bed of that name here.")
	return nil, nil, false
}

func plotOf(site *garden.Site, id string) *garden.Plot {
	if i := slices.IndexFunc(site.Plots, func(p garden.Plot) bool { return p.ID == id }); i >= 0 {
		return &site.Plots[i]
	}
	return nil
}

func (s *server) plotPage(w http.ResponseWriter, r *http.Request) {
	if site, p, ok := s.plot(w, r); ok {
		s.showPlot(w, r, http.StatusOK, site, p, &sent{})
	}
}

func (s *server) showPlot(w http.ResponseWriter, r *http.Request, status int, site *garden.Site, p *garden.Plot, f *sent) {
	t, who := s.Kit.T(r), access.From(r.Context())
	v := View{Back: &view.Link{Text: siteName(site), Href: siteAt(site.ID)}, Title: plotName(p), Done: words(t, r), Fixed: s.fixed(t, store.SiteThing, site.ID)}
	l := List{Title: t("What stood here"), Empty: t("Nothing yet.")}
	for i := len(p.Plantings) - 1; i >= 0; i-- {
		x := &p.Plantings[i]
		sub := since(t, x)
		if !x.Removed.IsZero() {
			sub += ", " + t("ended %s", x.Removed.Format("2 Jan 2006"))
		}
		l.Rows = append(l.Rows, Row{Text: view.PlantingName(x), Sub: sub, Href: plantingAt(site.ID, x.ID)})
	}
	v.Lists = []List{l}
	if v.Fixed == "" && who.Change(site.ID, "") {
		people := choices(t("nobody"), p.Grower)
		for _, x := range s.Ground.Garden().People {
			people = append(people, page.Choice{Value: x.ID, Text: personName(&x), Chosen: x.ID == p.Grower})
		}
		form := Form{Title: t("The bed itself"), Action: plotAt(site.ID, p.ID), Submit: t("Keep"), Quiet: true, Fields: []page.Field{
			{Name: "name", Label: t("Name of the bed"), Value: p.Name, Required: true, Max: 60},
			{Name: "grower", Label: t("Who tends it"), Type: "select", Choices: people, Hint: t("They may change what grows in it.")},
		}}
		f.fill(form.Fields)
		v.Forms = []Form{form}
		if len(p.Plantings) == 0 {
			v.Forms = append(v.Forms, Form{Action: plotAt(site.ID, p.ID) + "/remove", Submit: t("Remove the bed"), Grave: true})
		}
	}
	s.show(w, r, status, v)
}

func (s *server) changePlot(w http.ResponseWriter, r *http.Request) {
	site, p, ok := s.plot(w, r)
	if !ok || !s.mayChange(w, r, site.ID, "") {
		return
	}
	f := sentBy(r)
	err := s.Ground.Sites.Change(r.Context(), s.by(r, "changed a bed"), site.ID, func(x *garden.Site) error {
		at := plotOf(x, p.ID)
		if at == nil {
			return fmt.Errorf("bed %s: %w", p.ID, store.ErrNotFound)
		}
		at.Name, at.Grower = f.text("name"), f.text("grower")
		return nil
	})
	if f.refused(err, "name", nil) {
		s.showPlot(w, r, http.StatusUnprocessableEntity, site, p, f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "changed-site", site.ID, "bed "+p.ID)
	s.done(w, r, plotAt(site.ID, p.ID), "kept")
}

func (s *server) removePlot(w http.ResponseWriter, r *http.Request) {
	site, p, ok := s.plot(w, r)
	if !ok || !s.mayChange(w, r, site.ID, "") {
		return
	}
	err := s.Ground.Sites.Change(r.Context(), s.by(r, "removed a bed"), site.ID, func(x *garden.Site) error {
		at := plotOf(x, p.ID)
		if at != nil && len(at.Plantings) > 0 {
			return store.ErrConflict // somebody planted in it
		}
		x.Plots = slices.DeleteFunc(x.Plots, func(y garden.Plot) bool { return y.ID == p.ID })
		return nil
	})
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "changed-site", site.ID, "removed bed "+p.ID)
	s.done(w, r, siteAt(site.ID), "removed")
}
