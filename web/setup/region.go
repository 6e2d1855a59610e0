package setup

import (
	"net/http"
	"strings"

	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/web/page"
	"plotwarden/web/view"
)

func regionAt(id string) string { return "/setup/regions/" + id }

func (s *server) regionsPage(w http.ResponseWriter, r *http.Request) {
	if s.manage(w, r) {
		s.showRegions(w, r, http.StatusOK, &sent{})
	}
}

func (s *server) showRegions(w http.ResponseWriter, r *http.Request, status int, f *sent) {
	t := s.Kit.T(r)
	v := View{Back: s.back(t), Title: t("Regions"), Done: words(t, r), Lead: t("A region is the grounds that one volunteer looks after: their data, the numbers tuned for them, their newsletter.")}
	l := List{Title: t("Regions"), Empty: t("None yet.")}
	for _, x := range s.Ground.Garden().Regions {
		l.Rows = append(l.Rows, Row{Text: regionName(&x), Sub: strings.Join(s.names(x.Sites), ", "), Href: regionAt(x.ID)})
	}
	v.Lists = []List{l}
	form := Form{Title: t("Add a region"), Action: "/setup/regions", Submit: t("Add"), Fields: []page.Field{{Name: "name", Label: t("Name"), Required: true, Max: 80}}}
	f.fill(form.Fields)
	v.Forms = []Form{form}
	s.show(w, r, status, v)
}

func (s *server) addRegion(w http.ResponseWriter, r *http.Request) {
	if !s.manage(w, r) {
		return
	}
	f, t := sentBy(r), s.Kit.T(r)
	x := garden.Region{Name: f.text("name")}
	if x.Name == "" {
		f.faults["name"] = t("Write the name.")
	}
	err := f.err()
	if err == nil {
		x, err = s.Ground.Regions.Add(r.Context(), s.by(r, "added"), x)
	}
	if f.refused(err, "name", nil) {
		s.showRegions(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "added-region", x.ID, "")
	s.done(w, r, regionAt(x.ID), "kept")
}

func (s *server) region(w http.ResponseWriter, r *http.Request) (*garden.Region, bool) {
	if !s.manage(w, r) {
		return nil, false
	}
	x := s.Ground.Now().Region(r.PathValue("region"))
	if x == nil {
		s.Kit.NotFound(w, r, "There is no region of that name here.")
	}
	return x, x != nil
}

func (s *server) regionPage(w http.ResponseWriter, r *http.Request) {
	if x, ok := s.region(w, r); ok {
		s.showRegion(w, r, http.StatusOK, x, &sent{})
	}
}

func (s *server) showRegion(w http.ResponseWriter, r *http.Request, status int, x *garden.Region, f *sent) {
	t := s.Kit.T(r)
	v := View{Back: &view.Link{Text: t("Regions"), Href: "/setup/regions"}, Title: regionName(x), Done: words(t, r), Fixed: s.fixed(t, store.RegionThing, x.ID)}
	v.Links = []view.Link{{Text: t("To its bench"), Href: "/region/" + x.ID}}
	if v.Fixed == "" {
		form := Form{Action: regionAt(x.ID), Submit: t("Keep"), Hidden: [][2]string{{"mark", mark(x)}}, Fields: append([]page.Field{{Name: "name", Label: t("Name"), Value: x.Name, Required: true, Max: 80}}, s.moreSites(t)...)}
		f.fill(form.Fields)
		people := Group{Legend: t("Volunteers who look after it"), Name: "volunteers", Hint: t("Their account needs the role of volunteer.")}
		for _, p := range s.Ground.Garden().People {
			people.Choices = append(people.Choices, page.Choice{Value: p.ID, Text: personName(&p), Chosen: contains(x.Volunteers, p.ID)})
		}
		form.Groups = []Group{s.siteTicks(t, "sites", t("Its grounds"), x.Sites, false), people}
		v.Forms = []Form{form, {Action: regionAt(x.ID) + "/remove", Submit: t("Remove %s", regionName(x)), Grave: true}}
		v.Links = append(v.Links, view.Link{Text: t("Earlier versions"), Href: historyAt(store.RegionThing, x.ID)})
	}
	s.show(w, r, status, v)
}

func contains(list []string, x string) bool {
	for _, y := range list {
		if y == x {
			return true
		}
	}
	return false
}

func (s *server) changeRegion(w http.ResponseWriter, r *http.Request) {
	x, ok := s.region(w, r)
	if !ok {
		return
	}
	f := sentBy(r)
	err := s.Ground.Regions.Change(r.Context(), s.by(r, "changed"), x.ID, func(y *garden.Region) error {
		if f.text("mark") != mark(y) {
			return errMeanwhile
		}
		y.Name, y.Sites, y.Volunteers = f.text("name"), s.ticked(f), f.list("volunteers", nil)
		return nil
	})
	if f.refused(err, "name", map[string]string{"sites": "moreSites", "volunteers": "name"}) {
		s.showRegion(w, r, http.StatusUnprocessableEntity, s.Ground.Now().Region(x.ID), f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "changed-region", x.ID, "")
	s.done(w, r, regionAt(x.ID), "kept")
}

func (s *server) removeRegion(w http.ResponseWriter, r *http.Request) {
	x, ok := s.region(w, r)
	if !ok {
		return
	}
	if err := s.Ground.Regions.Remove(r.Context(), s.by(r, "removed"), x.ID); err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "removed-region", x.ID, "")
	s.done(w, r, historyAt(store.RegionThing, x.ID), "removed")
}
