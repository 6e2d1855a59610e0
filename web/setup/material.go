package setup

import (
	"net/http"
	"strings"

	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/web/page"
	"plotwarden/web/say"
	"plotwarden/web/view"
)

func materialAt(id string) string { return "/setup/materials/" + id }

func (s *server) materialsPage(w http.ResponseWriter, r *http.Request) {
	if s.manage(w, r) {
		s.showMaterials(w, r, http.StatusOK, &garden.Material{}, &sent{})
	}
}

func (s *server) showMaterials(w http.ResponseWriter, r *http.Request, status int, m *garden.Material, f *sent) {
	t := s.Kit.T(r)
	v := View{Back: s.back(t), Title: t("Materials"), Done: words(t, r), Lead: t("What you have in the shed, typed from the label in your hand. We fill in nothing: what you leave empty is asked for when you log a treatment, and never taken as free.")}
	l := List{Title: t("Yours"), Empty: t("None yet.")}
	for _, x := range s.Ground.Garden().Materials {
		sub := x.Ingredient
		if un := x.Unsaid(); len(un) > 0 {
			sub += ". " + t("Not typed yet: %s", strings.Join(un, ", "))
		}
		l.Rows = append(l.Rows, Row{Text: x.Label(), Sub: sub, Href: materialAt(x.ID)})
	}
	v.Lists = []List{l}
	form := s.materialForm(t, m, f)
	form.Title, form.Action, form.Submit = t("Add a material"), "/setup/materials", t("Add")
	v.Forms = []Form{form}
	s.show(w, r, status, v)
}

func (s *server) materialForm(t func(string, ...any) string, m *garden.Material, f *sent) Form {
	kinds := choices(t("not said"), string(m.Kind))
	for _, k := range garden.MaterialKinds() {
		kinds = append(kinds, page.Choice{Value: string(k), Text: say.Upper(t(string(k))), Chosen: k == m.Kind})
	}
	text := func(b []byte, err error) string {
		if err != nil {
			return ""
		}
		return string(b)
	}
	minTemp, maxTemp, wind := "", "", ""
	if m.MinTemp != nil {
		minTemp = text(m.MinTemp.MarshalText())
	}
	if m.MaxTemp != nil {
		maxTemp = text(m.MaxTemp.MarshalText())
	}
	if m.MaxWind != nil {
		wind = text(m.MaxWind.MarshalText())
	}
	dry := ""
	if m.ReEntryDry {
		dry = "yes"
	}
	follow := garden.FollowUp{}
	if m.FollowUp != nil {
		follow = *m.FollowUp
	}
	number := func(name, label, value, hint string) page.Field {
		return page.Field{Name: name, Label: label, Value: value, Hint: hint, Mode: "numeric", Max: 6}
	}
	form := Form{
		Submit: t("Keep"), MoreTitle: t("Further words of the label"),
		Fields: []page.Field{
			{Name: "name", Label: t("What you call it"), Value: m.Name, Max: 80},
			{Name: "ingredient", Label: t("Active ingredient"), Value: m.Ingredient, Hint: t("As the label prints it. A home mix has none."), Max: 120},
			{Name: "kind", Label: t("How it works"), Type: "select", Choices: kinds},
			{Name: "labelDate", Label: t("Date of the label"), Type: "date", Value: m.LabelDate.String(), Hint: t("Of the label that you type from.")},
			{Name: "crops", Label: t("Crops that the label allows"), Type: "textarea", Value: strings.Join(m.Crops, ", "), Hint: t("With commas between: tomato, pepper")},
			number("intervalDays", t("Days between two uses, at least"), intOr(m.IntervalDays), ""),
			number("seasonMax", t("Uses in a season, at most"), intOr(m.SeasonMax), ""),
			number("preHarvestDays", t("Days before harvest"), intPtr(m.PreHarvestDays), t("0 where the label says 0; empty where you have not read it.")),
			number("reEntryHours", t("Hours before going back in"), intPtr(m.ReEntryHours), ""),
			{Name: "reEntryDry", Label: t("Keep out until dry"), Type: "select", Choices: choices(t("not said"), dry, "yes", t("the label says so"))},
		},
		More: []page.Field{
			{Name: "registration", Label: t("Registration number"), Value: m.Registered, Max: 60},
			{Name: "group", Label: t("Mode-of-action group"), Value: m.Group, Hint: t("As printed: M1, 5"), Max: 20},
			number("dryingHours", t("Hours without rain after use"), numOr(m.DryingHours), ""),
			{Name: "minTemp", Label: t("Not below"), Value: minTemp, Hint: t("With its unit: 40 F or 5 C"), Max: 12},
			{Name: "maxTemp", Label: t("Not above"), Value: maxTemp, Hint: t("With its unit: 90 F or 32 C"), Max: 12},
			{Name: "maxWind", Label: t("Wind at most"), Value: wind, Hint: t("With its unit: 10 mph or 16 km/h"), Max: 12},
			number("afterSunriseHours", t("Hours after sunrise to keep clear"), numOr(m.AfterSunrise), ""),
			number("beforeSunsetHours", t("Hours before sunset to keep clear"), numOr(m.BeforeSunset), ""),
			{Name: "bees", Label: t("Bees"), Type: "select", Choices: choices(t("not said"), string(m.Bees), string(garden.BeesAway), t("when bees are away"), string(garden.BeesNotBloom), t("never on open bloom"), string(garden.BeesNoMention), t("no bee statement"))},
			{Name: "doNotMix", Label: t("Not to be mixed with"), Value: strings.Join(m.DoNotMix, ", "), Hint: t("Materials, kinds or ingredients, with commas between."), Max: 300},
			number("apartDays", t("Days to keep oil and sulfur apart"), intOr(m.ApartDays), ""),
			{Name: "followText", Label: t("Work that follows a use"), Value: follow.Text, Hint: t("For instance: rinse it off"), Max: 120},
			{Name: "followAt", Label: t("At"), Type: "time", Value: string(follow.At)},
			number("followHours", t("Or so many hours after"), intOr(follow.AfterHours), ""),
			{Name: "note", Label: t("Note"), Type: "textarea", Value: m.Note, Max: 1000},
		},
	}
	f.fill(form.Fields, form.More)
	return form
}

func commaList(text string) []string {
	var out []string
	for _, x := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == '\n' || r == ';' }) {
		if x = strings.TrimSpace(x); x != "" {
			out = append(out, x)
		}
	}
	return out
}

// readMaterial puts what was sent into a material. It adds nothing.
func readMaterial(f *sent, m *garden.Material) {
	*m = garden.Material{ID: m.ID, Name: f.text("name"), Ingredient: f.text("ingredient"), Group: f.text("group"), Registered: f.text("registration"), Note: f.text("note"), DoNotMix: commaList(f.v.Get("doNotMix"))}
	f.read("kind", &m.Kind)
	f.read("labelDate", &m.LabelDate)
	for _, c := range commaList(f.v.Get("crops")) {
		m.Crops = append(m.Crops, strings.ToLower(c))
	}
	m.IntervalDays, m.SeasonMax, m.ApartDays = f.wholeOr0("intervalDays"), f.wholeOr0("seasonMax"), f.wholeOr0("apartDays")
	m.PreHarvestDays, m.ReEntryHours, m.ReEntryDry = f.whole("preHarvestDays"), f.whole("reEntryHours"), f.text("reEntryDry") == "yes"
	f.number("dryingHours", &m.DryingHours)
	f.number("afterSunriseHours", &m.AfterSunrise)
	f.number("beforeSunsetHours", &m.BeforeSunset)
	if f.text("minTemp") != "" {
		m.MinTemp = new(garden.Degrees)
		f.read("minTemp", m.MinTemp)
	}
	if f.text("maxTemp") != "" {
		m.MaxTemp = new(garden.Degrees)
		f.read("maxTemp", m.MaxTemp)
	}
	if f.text("maxWind") != "" {
		m.MaxWind = new(garden.Speed)
		f.read("maxWind", m.MaxWind)
	}
	f.read("bees", &m.Bees)
	follow := garden.FollowUp{Text: f.text("followText"), AfterHours: f.wholeOr0("followHours")}
	f.read("followAt", &follow.At)
	if follow != (garden.FollowUp{}) {
		m.FollowUp = &follow
	}
}

var materialNames = map[string]string{"followUp": "followText", "text": "followText", "afterHours": "followHours", "at": "followAt", "id": "name"}

func (s *server) addMaterial(w http.ResponseWriter, r *http.Request) {
	if !s.manage(w, r) {
		return
	}
	f := sentBy(r)
	var m garden.Material
	readMaterial(f, &m)
	err := f.err()
	if err == nil {
		m, err = s.Ground.Materials.Add(r.Context(), s.by(r, "added"), m)
	}
	if f.refused(err, "name", materialNames) {
		s.showMaterials(w, r, http.StatusUnprocessableEntity, &m, f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "added-material", m.ID, m.Ingredient)
	s.done(w, r, materialAt(m.ID), "kept")
}

func (s *server) material(w http.ResponseWriter, r *http.Request) (*garden.Material, bool) {
	if !s.manage(w, r) {
		return nil, false
	}
	m := s.Ground.Now().Material(r.PathValue("material"))
	if m == nil {
		s.Kit.NotFound(w, r, "There is no material of that name here.")
	}
	return m, m != nil
}

func (s *server) materialPage(w http.ResponseWriter, r *http.Request) {
	if m, ok := s.material(w, r); ok {
		s.showMaterial(w, r, http.StatusOK, m, &sent{})
	}
}

func (s *server) showMaterial(w http.ResponseWriter, r *http.Request, status int, m *garden.Material, f *sent) {
	t := s.Kit.T(r)
	v := View{Back: &view.Link{Text: t("Materials"), Href: "/setup/materials"}, Title: m.Label(), Done: words(t, r), Fixed: s.fixed(t, store.MaterialThing, m.ID)}
	if un := m.Unsaid(); len(un) > 0 {
		v.Lead = t("Not typed yet: %s.", strings.Join(un, ", "))
	}
	if v.Fixed == "" {
		form := s.materialForm(t, m, f)
		form.Action, form.Hidden = materialAt(m.ID), [][2]string{{"mark", mark(m)}}
		v.Forms = []Form{form, {Action: materialAt(m.ID) + "/remove", Submit: t("Remove %s", m.Label()), Grave: true}}
		v.Links = []view.Link{{Text: t("Earlier versions"), Href: historyAt(store.MaterialThing, m.ID)}}
	}
	s.show(w, r, status, v)
}

func (s *server) changeMaterial(w http.ResponseWriter, r *http.Request) {
	m, ok := s.material(w, r)
	if !ok {
		return
	}
	f := sentBy(r)
	err := s.Ground.Materials.Change(r.Context(), s.by(r, "changed"), m.ID, func(x *garden.Material) error {
		if f.text("mark") != mark(x) {
			return errMeanwhile
		}
		readMaterial(f, x)
		return f.err()
	})
	if f.refused(err, "name", materialNames) {
		s.showMaterial(w, r, http.StatusUnprocessableEntity, s.Ground.Now().Material(m.ID), f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "changed-material", m.ID, "")
	s.done(w, r, materialAt(m.ID), "kept")
}

func (s *server) removeMaterial(w http.ResponseWriter, r *http.Request) {
	m, ok := s.material(w, r)
	if !ok {
		return
	}
	if err := s.Ground.Materials.Remove(r.Context(), s.by(r, "removed"), m.ID); err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "removed-material", m.ID, "")
	s.done(w, r, historyAt(store.MaterialThing, m.ID), "removed")
}
