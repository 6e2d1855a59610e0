package setup

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"plotwarden/access"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/ground"
	"plotwarden/store"
	"plotwarden/web/page"
	"plotwarden/web/say"
	"plotwarden/web/view"
)

func mark(v any) string { return ground.Mark(v) }

// plantPage begins a planting: the crops as large buttons, so that a bed is
// planted again at one touch, and what else there is to say behind a fold.
func (s *server) plantPage(w http.ResponseWriter, r *http.Request) {
	site, p, ok := s.plot(w, r)
	if !ok || !s.mayChange(w, r, site.ID, p.ID) {
		return
	}
	s.showPlant(w, r, http.StatusOK, site, p, &garden.Planting{PlantedOut: s.today(site)}, sentBy(r))
}

func (s *server) showPlant(w http.ResponseWriter, r *http.Request, status int, site *garden.Site, p *garden.Plot, x *garden.Planting, f *sent) {
	t := s.Kit.T(r)
	v := View{Back: &view.Link{Text: siteName(site), Href: siteAt(site.ID)}, Title: t("Plant in %s", plotName(p)), Done: words(t, r)}
	lead := t("Touch what you plant. It counts as planted out today, unless you say otherwise beneath first.")
	form := Form{
		Lead: lead, Action: plotAt(site.ID, p.ID) + "/plant",
		More: s.plantingFields(t, x)[1:], MoreTitle: t("Cultivar, days, cover, mulch, water"),
		Picks: &Picks{Name: "crop", Choices: cropPicks(site)},
	}
	f.fill(form.More)
	if fault := f.faults["crop"]; fault != "" {
		v.Warn = append(v.Warn, fault)
	}
	v.Forms = []Form{form}
	s.show(w, r, status, v)
}

// cropPicks are the crops, first those that this site has or had.
func cropPicks(site *garden.Site) []page.Choice {
	had := map[string]bool{}
	for i := range site.Plots {
		for j := range site.Plots[i].Plantings {
			had[site.Plots[i].Plantings[j].Crop] = true
		}
	}
	crops := garden.Crops()
	slices.SortStableFunc(crops, func(a, b garden.Crop) int {
		switch {
		case had[a.ID] == had[b.ID]:
			return strings.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name))
		case had[a.ID]:
			return -1
		}
		return 1
	})
	out := make([]page.Choice, len(crops))
	for i, c := range crops {
		out[i] = page.Choice{Value: c.ID, Text: say.Upper(c.Name)}
	}
	return out
}

func (s *server) plantingFields(t func(string, ...any) string, p *garden.Planting) []page.Field {
	crops := choices(t("choose"), p.Crop)
	for _, c := range garden.Crops() {
		crops = append(crops, page.Choice{Value: c.ID, Text: say.Upper(c.Name), Chosen: c.ID == p.Crop})
	}
	none := t("not said")
	return []page.Field{
		{Name: "crop", Label: t("Crop"), Type: "select", Choices: crops, Required: true},
		{Name: "cultivar", Label: t("Cultivar"), Value: p.Cultivar, Max: 80},
		{Name: "sown", Label: t("Sown"), Type: "date", Value: p.Sown.String()},
		{Name: "plantedOut", Label: t("Planted out"), Type: "date", Value: p.PlantedOut.String(), Hint: t("Empty where it was sown in its bed.")},
		{Name: "susceptibility", Label: t("How readily the cultivar takes disease"), Type: "select", Hint: t("As its seller or a variety trial says."), Choices: choices(none, string(p.Susceptibility),
			string(garden.Susceptible), t("susceptible"), string(garden.ModeratelySusceptible), t("moderately susceptible"), string(garden.ModeratelyResistant), t("moderately resistant"), string(garden.Resistant), t("resistant"))},
		{Name: "cover", Label: t("Cover"), Type: "select", Choices: choices(none, string(p.Cover),
			string(garden.NoCover), t("none"), string(garden.RowCover), t("row cover"), string(garden.InsectNet), t("insect net"), string(garden.Tunnel), t("tunnel"))},
		{Name: "mulch", Label: t("Mulch"), Type: "select", Choices: choices(none, string(p.Mulch),
			string(garden.NoMulch), t("none"), string(garden.Straw), t("straw"), string(garden.Leaves), t("leaves"), string(garden.Compost), t("compost"), string(garden.Film), t("film"))},
		{Name: "irrigation", Label: t("Water"), Type: "select", Choices: choices(none, string(p.Irrigation),
			string(garden.NoIrrigation), t("none"), string(garden.Drip), t("drip"), string(garden.ByHand), t("by hand, at the base"), string(garden.Overhead), t("from above"))},
	}
}

// readPlanting puts what was sent into a planting.
func readPlanting(f *sent, p *garden.Planting) {
	p.Crop, p.Cultivar = f.text("crop"), f.text("cultivar")
	p.Susceptibility, p.Cover, p.Mulch, p.Irrigation, p.Sown, p.PlantedOut = "", "", "", "", 0, 0
	f.read("susceptibility", &p.Susceptibility)
	f.read("cover", &p.Cover)
	f.read("mulch", &p.Mulch)
	f.read("irrigation", &p.Irrigation)
	f.read("sown", &p.Sown)
	f.read("plantedOut", &p.PlantedOut)
}

func (s *server) plant(w http.ResponseWriter, r *http.Request) {
	site, p, ok := s.plot(w, r)
	if !ok || !s.mayChange(w, r, site.ID, p.ID) {
		return
	}
	f, today := sentBy(r), s.today(site)
	var x garden.Planting
	readPlanting(f, &x)
	if x.Sown.IsZero() && x.PlantedOut.IsZero() && f.faults["sown"]+f.faults["plantedOut"] == "" {
		x.PlantedOut = today
	}
	taken, err := s.everIn(r.Context(), site.ID)
	if err == nil {
		err = f.err()
	}
	if err == nil {
		x.ID = newID(fmt.Sprintf("%s %d", x.Crop, x.InGround().Year()), "planting", taken.plantings)
		err = s.Ground.Sites.Change(r.Context(), s.by(r, "planted "+x.Crop), site.ID, func(y *garden.Site) error {
			at := plotOf(y, p.ID)
			if at == nil {
				return fmt.Errorf("bed %s: %w", p.ID, store.ErrNotFound)
			}
			at.Plantings = append(at.Plantings, x)
			return nil
		})
	}
	if f.refused(err, "crop", nil) {
		s.showPlant(w, r, http.StatusUnprocessableEntity, site, p, &x, f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "planted", site.ID+"/"+p.ID, x.ID)
	s.done(w, r, siteAt(site.ID), "planted")
}

// endOf is the day on which a planting ends that ends today: one day at least after
// it began.
func endOf(p *garden.Planting, today civil.Date) civil.Date { return max(today, p.InGround()+1) }

// planting returns that of the address with its bed, or answers.
func (s *server) planting(w http.ResponseWriter, r *http.Request) (*garden.Site, *garden.Plot, *garden.Planting, bool) {
	site, ok := s.site(w, r)
	if !ok {
		return nil, nil, nil, false
	}
	p, x := site.Find(r.PathValue("planting"))
	if x == nil {
		s.Kit.NotFound(w, r, "There is no planting of that name here.")
		return nil, nil, nil, false
	}
	return site, p, x, true
}

func (s *server) plantingPage(w http.ResponseWriter, r *http.Request) {
	if site, p, x, ok := s.planting(w, r); ok {
		s.showPlanting(w, r, http.StatusOK, site, p, x, &sent{})
	}
}

func (s *server) showPlanting(w http.ResponseWriter, r *http.Request, status int, site *garden.Site, p *garden.Plot, x *garden.Planting, f *sent) {
	t := s.Kit.T(r)
	v := View{Back: &view.Link{Text: siteName(site), Href: siteAt(site.ID)}, Title: view.BedName(p, x), Done: words(t, r), Fixed: s.fixed(t, store.SiteThing, site.ID)}
	form := Form{Action: plantingAt(site.ID, x.ID), Submit: t("Keep"), Hidden: [][2]string{{"mark", mark(x)}}}
	form.Fields = append(s.plantingFields(t, x), page.Field{Name: "removed", Label: t("Ended"), Type: "date", Value: x.Removed.String(), Hint: t("The first day on which it no longer stands.")})
	f.fill(form.Fields)
	if v.Fixed == "" && access.From(r.Context()).Change(site.ID, p.ID) {
		v.Forms = []Form{form, {Title: t("Entered by mistake"), Lead: t("What ended stays on the bed's list: give it the day on which it ended instead. Remove only what never grew."), Action: plantingAt(site.ID, x.ID) + "/remove", Submit: t("Remove"), Grave: true}}
		v.Links = []view.Link{{Text: t("Earlier versions"), Href: historyAt(store.SiteThing, site.ID)}}
	} else {
		l := List{Title: t("What is known of it")}
		for _, y := range form.Fields {
			text := y.Value
			for _, c := range y.Choices {
				if c.Chosen && c.Value != "" {
					text = c.Text
				}
			}
			if text != "" {
				l.Rows = append(l.Rows, Row{Text: y.Label, Sub: text})
			}
		}
		v.Lists = []List{l}
	}
	s.show(w, r, status, v)
}

func (s *server) changePlanting(w http.ResponseWriter, r *http.Request) {
	site, p, x, ok := s.planting(w, r)
	if !ok || !s.mayChange(w, r, site.ID, p.ID) {
		return
	}
	f := sentBy(r)
	err := s.Ground.Sites.Change(r.Context(), s.by(r, "changed a planting"), site.ID, func(y *garden.Site) error {
		_, at := y.Find(x.ID)
		if at == nil {
			return fmt.Errorf("planting %s: %w", x.ID, store.ErrNotFound)
		}
		if f.text("mark") != mark(at) {
			return errMeanwhile
		}
		readPlanting(f, at)
		at.Removed = 0
		f.read("removed", &at.Removed)
		return f.err()
	})
	if f.refused(err, "sown", nil) {
		_, now := s.Ground.Now().Site(site.ID).Find(x.ID)
		if now == nil {
			now = x
		}
		s.showPlanting(w, r, http.StatusUnprocessableEntity, site, p, now, f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "changed-planting", site.ID, x.ID)
	s.done(w, r, siteAt(site.ID), "kept")
}

// endPlanting is the first of the two touches by which a bed is planted again: it
// leads to the crops, of which the second touch chooses one.
func (s *server) endPlanting(w http.ResponseWriter, r *http.Request) {
	site, p, x, ok := s.planting(w, r)
	if !ok || !s.mayChange(w, r, site.ID, p.ID) {
		return
	}
	today := s.today(site)
	err := s.Ground.Sites.Change(r.Context(), s.by(r, "ended a planting"), site.ID, func(y *garden.Site) error {
		_, at := y.Find(x.ID)
		if at == nil {
			return fmt.Errorf("planting %s: %w", x.ID, store.ErrNotFound)
		}
		if at.Removed.IsZero() {
			at.Removed = endOf(at, today)
		}
		return nil
	})
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "ended-planting", site.ID, x.ID)
	s.done(w, r, plotAt(site.ID, p.ID)+"/plant", "ended")
}

func (s *server) removePlanting(w http.ResponseWriter, r *http.Request) {
	site, p, x, ok := s.planting(w, r)
	if !ok || !s.mayChange(w, r, site.ID, p.ID) {
		return
	}
	err := s.Ground.Sites.Change(r.Context(), s.by(r, "removed a planting entered by mistake"), site.ID, func(y *garden.Site) error {
		if at := plotOf(y, p.ID); at != nil {
			at.Plantings = slices.DeleteFunc(at.Plantings, func(z garden.Planting) bool { return z.ID == x.ID })
		}
		return nil
	})
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "removed-planting", site.ID, x.ID)
	s.done(w, r, siteAt(site.ID), "removed")
}
