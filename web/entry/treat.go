package entry

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/web/page"
	"plotwarden/web/view"
)

// What a treatment was done with, besides one of the grower's own materials.
const (
	withOther   = "-other"   // something that is not in the list
	withNothing = "-nothing" // work by hand
)

// treatPage is the form for a treatment.
type treatPage struct {
	Site, Look                   view.Link
	Action, ID, Person, Replaces string
	Beds                         []bed
	Bed                          *bed
	With                         []Choice
	Materials                    view.Link // where materials are typed in
	Own                          bool      // there are some
	Product, Ingredient          page.Field
	Day, Clock, Until            page.Field
	Pick                         page.Field
	Bloom                        []Choice
	Test                         bool
	Main, More                   []page.Field
	Why                          page.Field
	Faults                       []page.Field
	Photos                       []string
	Result                       []Choice
	ResultOn                     page.Field
	Caution                      string
	Correcting                   bool
	Mix                          []Choice
}

func (s *server) treatForm(w http.ResponseWriter, r *http.Request) {
	site, ok := s.findToLog(w, r)
	if !ok {
		return
	}
	q := r.URL.Query()
	s.showTreat(w, r, http.StatusOK, s.sheet(r, site, url.Values{"planting": q["planting"], "threats": q["threat"], "with": q["material"]}), nil)
}

func (s *server) showTreat(w http.ResponseWriter, r *http.Request, status int, f *sheet, was *garden.Record) {
	beds, err := s.choices(r, f.site)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	if was != nil {
		beds = s.withBed(beds, f.site, was.Planting)
	}
	t, at := f.t, f.now.In(f.site.Location())
	p := treatPage{
		Site: view.Link{Text: f.site.Name, Href: view.SiteHref(f.site.ID)}, Look: view.Link{Text: t("Log a look"), Href: view.LogHref(f.site.ID)},
		Action: view.LogHref(f.site.ID) + "/treatment", ID: f.get("id"), Person: f.who.Person, Replaces: f.get("replaces"),
		Beds: beds, Bed: pick(beds, f.get("planting")), With: s.withChoices(f), Own: len(s.Garden().Materials) > 0, Mix: s.mixChoices(f),
		Materials:  view.Link{Text: t("Type a material from its label"), Href: "/setup/materials"},
		Product:    f.field(page.Field{Name: "product", Label: t("Its name, where it is not in your list"), Max: 120}),
		Ingredient: f.field(page.Field{Name: "ingredient", Label: t("Active ingredient"), Max: 120}),
		Day:        f.field(page.Field{Name: "day", Label: t("Day"), Type: "date", Value: f.today().String()}),
		Clock:      f.field(page.Field{Name: "clock", Label: t("Begun at"), Type: "time", Value: at.Format("15:04")}),
		Until:      f.field(page.Field{Name: "until", Label: t("Ended at"), Type: "time"}),
		Pick:       f.field(page.Field{Name: "pick", Label: t("Next harvest from this bed"), Type: "date", Hint: t("to hold it against the days before harvest")}),
		Bloom: []Choice{{"", t("not said"), "", f.get("bloom") == ""}, {string(garden.NoBloom), t("nothing in flower"), "", f.get("bloom") == string(garden.NoBloom)},
			{string(garden.OpenBloom), t("flowers are open"), "", f.get("bloom") == string(garden.OpenBloom)}},
		Test: f.get("test") != "", Faults: f.faults, Caution: plan.LabelCaution, Correcting: f.get("replaces") != "",
		Why:      f.field(page.Field{Name: "why", Label: t("Why it is corrected"), Hint: t("The first entry stays in the log beside it."), Required: true, Max: maxWhy}),
		ResultOn: f.field(page.Field{Name: "result_on", Label: t("Looked at on"), Type: "date"}),
	}
	if was != nil {
		p.Photos = was.Photos
	}
	p.Main, p.More = f.mainFields(), f.moreFields()
	for _, c := range []string{"", string(garden.Better), string(garden.Same), string(garden.Worse), string(garden.Harmed)} {
		text := c
		if c == "" {
			text = "not looked yet"
		}
		p.Result = append(p.Result, Choice{Value: c, Text: t(text), Chosen: f.get("result") == c})
	}
	if !goodID(p.ID) {
		p.ID = newID()
	}
	if p.Bed != nil {
		mark(p.Bed.Threats, f.v["threats"]...)
	}
	s.pages.Show(w, r, status, "treat", page.Frame{Title: t("Log a treatment, %s", f.site.Name), Site: f.site, Here: "log", Scripts: []string{"entry.js"}, Body: p})
}

func (s *server) withChoices(f *sheet) []Choice {
	chosen := f.get("with")
	var out []Choice
	for i := range s.Garden().Materials {
		m := &s.Garden().Materials[i]
		out = append(out, Choice{Value: m.ID, Text: m.Label(), Note: m.Ingredient, Chosen: m.ID == chosen})
	}
	return append(out, Choice{Value: withOther, Text: f.t("something else"), Chosen: chosen == withOther},
		Choice{Value: withNothing, Text: f.t("nothing: work by hand"), Chosen: chosen == withNothing})
}

func (s *server) mixChoices(f *sheet) []Choice {
	var out []Choice
	for i := range s.Garden().Materials {
		m := &s.Garden().Materials[i]
		out = append(out, Choice{Value: m.ID, Text: m.Label(), Chosen: slices.Contains(f.v["mix"], m.ID)})
	}
	return out
}

func (f *sheet) mainFields() []page.Field {
	t := f.t
	return []page.Field{
		f.field(page.Field{Name: "amount", Label: t("Amount of product used"), Hint: t("of the product, not of the mix; from the label"), Mode: "decimal", Max: 10}),
		f.field(page.Field{Name: "amount_unit", Label: t("Unit of amount"), Max: 20}),
		f.field(page.Field{Name: "note", Label: t("Note"), Type: "textarea", Max: maxNote}),
	}
}

func (f *sheet) moreFields() []page.Field {
	t := f.t
	reasons := []page.Choice{{Text: t("not said")}}
	for _, c := range []garden.RecordReason{garden.ByModel, garden.ByScouting, garden.ByCalendar} {
		reasons = append(reasons, page.Choice{Value: string(c), Text: t(string(c))})
	}
	growth := make([]page.Choice, 0, len(stages)+1)
	for _, c := range stageChoices(t, f.get("bbch")) {
		growth = append(growth, page.Choice{Value: c.Value, Text: c.Text, Chosen: c.Chosen})
	}
	list := []page.Field{
		{Name: "water", Label: t("Water"), Mode: "decimal", Max: 10}, {Name: "water_unit", Label: t("Unit of water"), Max: 20},
		{Name: "area", Label: t("Area"), Mode: "decimal", Max: 10}, {Name: "area_unit", Label: t("Unit of area"), Max: 20},
		{Name: "method", Label: t("Method"), Hint: t("hand sprayer, by hand, net"), Max: 80},
		{Name: "target", Label: t("Against, in your own words"), Max: 120}, {Name: "bbch", Label: t("Growth stage"), Type: "select", Choices: growth},
		{Name: "reason", Label: t("What led to it"), Type: "select", Choices: reasons},
		{Name: "temp", Label: t("Temperature you saw"), Hint: t("with its unit: 21 C or 70 F"), Max: 10}, {Name: "wind", Label: t("Wind you felt"), Hint: t("with its unit: 8 km/h or 5 mph"), Max: 12},
		{Name: "wind_from", Label: t("Wind from"), Hint: "SW", Max: 5}, {Name: "sky", Label: t("Sky"), Max: 40}, {Name: "bees", Label: t("Bees"), Max: 80},
		{Name: "place", Label: t("Place, or coordinates"), Max: 120}, {Name: "certificate", Label: t("Certificate of the person"), Max: 40},
	}
	for i := range list {
		list[i] = f.field(list[i])
	}
	return list
}

// treatment reads a treatment from a form and says in f what is wrong with it.
func (s *server) treatment(r *http.Request, f *sheet) (garden.Record, *garden.Material, error) {
	t := f.t
	x := garden.Record{
		ID: f.id(), Site: f.site.ID, Planting: f.get("planting"), Start: f.moment("day", "clock", t("Begun at")), By: f.who.Person, EnteredBy: f.who.Person,
		Replaces: f.get("replaces"), Note: f.text("note", t("Note"), maxNote), Despite: f.text("despite", t("Why all the same"), maxWhy),
		Amount: f.number("amount", t("Amount of product used"), 1e6), AmountUnit: f.text("amount_unit", t("Unit of amount"), 20),
		Water: f.number("water", t("Water"), 1e6), WaterUnit: f.text("water_unit", t("Unit of water"), 20), AreaUnit: f.text("area_unit", t("Unit of area"), 20),
		Method: f.text("method", t("Method"), 80), Target: f.text("target", t("Against, in your own words"), 120), BBCH: f.whole("bbch", t("Growth stage"), 99),
		Place: f.text("place", t("Place, or coordinates"), 120), Certificate: f.text("certificate", t("Certificate of the person"), 40), Test: f.get("test") != "",
		Seen: garden.Seen{WindFrom: f.text("wind_from", t("Wind from"), 5), Sky: f.text("sky", t("Sky"), 40), Bees: f.text("bees", t("Bees"), 80)},
	}
	if a := f.number("area", t("Area"), 1e6); a != nil {
		x.Area = *a
	}
	if x.Start.IsZero() && len(f.faults) == 0 {
		x.Start = f.now.Truncate(time.Minute)
	}
	f.seen(&x)
	f.choice("reason", t("What led to it"), &x.Reason)
	f.choice("result", t("How it looked afterwards"), &x.Result)
	x.ResultOn = f.date("result_on", t("Looked at on"))
	f.until(&x)
	m := s.material(f, &x)
	f.aims(s, &x)
	if x.Replaces != "" {
		return x, m, s.correctsRecord(r, f, &x)
	}
	return x, m, nil
}

func (f *sheet) seen(x *garden.Record) {
	f.choice("bloom", f.t("Flowers"), &x.Seen.Bloom)
	if f.get("temp") != "" {
		var d garden.Degrees
		if err := d.UnmarshalText([]byte(f.get("temp"))); err != nil {
			f.bad("temp", f.t("Temperature you saw"), f.t("Write it with its unit, such as 21 C or 70 F."))
		}
		x.Seen.Temp = &d
	}
	if f.get("wind") != "" {
		var v garden.Speed
		if err := v.UnmarshalText([]byte(f.get("wind"))); err != nil {
			f.bad("wind", f.t("Wind you felt"), f.t("Write it with its unit, such as 8 km/h or 5 mph."))
		}
		x.Seen.Wind = &v
	}
}

// until reads the end of the work, after midnight where it is before the start.
func (f *sheet) until(x *garden.Record) {
	if f.get("until") == "" || x.Start.IsZero() {
		return
	}
	c, err := time.Parse("15:04", f.get("until"))
	if err != nil {
		f.bad("until", f.t("Ended at"), f.t("Write a time of day, such as 19:30."))
		return
	}
	d := localDay(x.Start, f.site)
	if x.End = d.Slot(c.Hour(), c.Minute(), f.site.Location()); x.End.Before(x.Start) {
		x.End = (d + 1).Slot(c.Hour(), c.Minute(), f.site.Location())
	}
}

// material reads with what it was done.
func (s *server) material(f *sheet, x *garden.Record) *garden.Material {
	switch with := f.get("with"); with {
	case withNothing:
		if x.Method == "" {
			x.Method = "by hand"
		}
	case withOther, "":
		x.Product, x.Ingredient = f.text("product", f.t("Name"), 120), f.text("ingredient", f.t("Active ingredient"), 120)
		if x.Product == "" && x.Ingredient == "" {
			f.bad("with", f.t("With"), f.t("Choose a material, write its name, or choose work by hand."))
		}
		if in := plan.IngredientOf(x.Ingredient + " " + x.Product); in != nil {
			x.Kind = in.Kind
		}
	default:
		if m := garden.MaterialByID(s.Garden().Materials, with); m != nil {
			x.Material = m.ID
			return m
		}
		f.bad("with", f.t("With"), f.t("Choose one of those offered."))
	}
	return nil
}

func (f *sheet) aims(s *server, x *garden.Record) {
	if _, p := f.site.Find(x.Planting); p == nil {
		f.bad("planting", f.t("Bed"), f.t("Choose a bed."))
	}
	for _, id := range f.v["threats"] {
		if _, ok := s.Catalogue.ByID(id); !ok {
			f.bad("threats", f.t("Against"), f.t("Choose one of those offered."))
			return
		}
		x.Threats = append(x.Threats, id)
	}
}

func (s *server) correctsRecord(r *http.Request, f *sheet, x *garden.Record) error {
	all, err := s.allRecords(r.Context(), f.site)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(all, func(y garden.Record) bool { return y.ID == x.Replaces })
	if i < 0 || !f.who.Correct(f.site.ID, all[i].By) {
		f.bad("why", f.t("Why it is corrected"), f.t("There is no entry of yours to correct here."))
		return nil
	}
	if x.Why = f.text("why", f.t("Why it is corrected"), maxWhy); x.Why == "" {
		f.bad("why", f.t("Why it is corrected"), f.t("Write it in a few words."))
	}
	x.By, x.Photos = all[i].By, slices.Clone(all[i].Photos)
	return nil
}

// checks fills a record in and returns what stands against it, the gravest first.
// Work by hand is not held against any label.
func (s *server) checks(r *http.Request, f *sheet, x *garden.Record, m *garden.Material) ([]plan.Check, error) {
	x.Fill(f.site, m)
	series, wet, err := s.weatherAround(r.Context(), f.site.ID, x.Start)
	if err != nil {
		return nil, err
	}
	if series != nil && !x.Start.After(f.now) {
		plan.FillWeather(x, series, float64(f.site.Elevation))
	}
	x.Against = nil
	if !x.Sprayed() {
		return nil, nil
	}
	all, err := s.allRecords(r.Context(), f.site)
	if err != nil {
		return nil, err
	}
	_, p := f.site.Find(x.Planting)
	q := plan.TreatmentCheck{
		Site: f.site, Planting: p, Record: x, Material: m, History: garden.Current(all), Own: s.Garden().Materials,
		HarvestOn: f.date("pick", f.t("Next harvest from this bed")), Series: series, Wet: wet, People: plan.QuietTimes(f.site),
	}
	for _, id := range f.v["mix"] {
		if other := garden.MaterialByID(q.Own, id); other != nil && (m == nil || other.ID != m.ID) {
			q.Mix = append(q.Mix, *other)
		}
	}
	cs := plan.CheckTreatment(q)
	for _, c := range cs {
		if c.Level != plan.Ask && !slices.Contains(x.Against, c.Code) {
			x.Against = append(x.Against, c.Code)
		}
	}
	return cs, nil
}

// review is the page that shows the checks before anything is saved.
type review struct {
	Site    view.Link
	Title   string
	Action  string
	Hidden  [][2]string // what the form said
	Checks  []checkLine
	Stops   bool
	Warns   bool
	First   string // what a test on a few leaves means, where this is a first use; else empty
	Ahead   bool   // the work lies ahead: there is nothing to log yet
	Despite page.Field
	Faults  []page.Field
	Caution string
	Photos  bool // they have to be chosen again
}

type checkLine struct {
	Level, Text string
	Source      view.Source
}

func checkLines(cs []plan.Check, t func(string, ...any) string) []checkLine {
	words := map[plan.Level]string{plan.Stop: "Stop", plan.Warn: "Mind", plan.Ask: "Not said"}
	out := make([]checkLine, len(cs))
	for i, c := range cs {
		out[i] = checkLine{t(words[c.Level]), c.Text, view.Source{Text: c.Source.Text, Standing: c.Source.Standing.String()}}
	}
	return out
}

// saveTreatment shows what stands against a treatment, and keeps it once the
// person has seen that. What was done is kept whatever stands against it: a log is
// worth as much as it is true. What lies ahead is only checked.
func (s *server) saveTreatment(w http.ResponseWriter, r *http.Request) {
	site, ok := s.findToLog(w, r)
	if !ok {
		return
	}
	f := s.sheet(r, site, r.PostForm)
	pictures := s.pictures(f, r)
	x, m, err := s.treatment(r, f)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	if len(f.faults) > 0 {
		s.showTreat(w, r, http.StatusUnprocessableEntity, f, nil)
		return
	}
	cs, err := s.checks(r, f, &x, m)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	x.Entered = f.now.UTC().Truncate(time.Second)
	ahead := x.Start.After(f.now.Add(aheadSlack))
	stops := slices.ContainsFunc(cs, func(c plan.Check) bool { return c.Level == plan.Stop })
	told := f.get("told") != ""
	if told && stops && x.Despite == "" {
		f.bad("despite", f.t("Why it was done all the same"), f.t("Write it in a few words; it stands in the record."))
	}
	if ahead || f.get("act") == "check" || len(f.faults) > 0 || !told && len(cs) > 0 {
		p := review{Checks: checkLines(cs, f.t), Stops: stops, Warns: len(x.Against) > 0, Ahead: ahead, Photos: len(pictures) > 0}
		if m != nil && slices.ContainsFunc(cs, func(c plan.Check) bool { return c.Code == "first use" }) {
			step := plan.TestStep(m, x.Start, f.site.Location())
			p.First = step.Text
		}
		s.showReview(w, r, f, p)
		return
	}
	state, err := s.keepRecord(r, &x, pictures)
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

// aheadSlack is how far a phone's clock may be ahead of ours.
const aheadSlack = 10 * time.Minute

func (s *server) showReview(w http.ResponseWriter, r *http.Request, f *sheet, p review) {
	_, planting := f.site.Find(f.get("planting"))
	p.Site, p.Action = view.Link{Text: f.site.Name, Href: view.SiteHref(f.site.ID)}, view.LogHref(f.site.ID)+"/treatment"
	p.Title, p.Faults, p.Caution = view.PlantingName(planting), f.faults, plan.LabelCaution
	p.Despite = f.field(page.Field{Name: "despite", Label: f.t("Why it was done all the same"), Hint: f.t("It stands in the record."), Required: p.Stops, Max: maxWhy})
	for _, name := range sortedKeys(f.v) {
		if name == "despite" || name == "told" || name == "act" || strings.HasPrefix(name, "check") {
			continue
		}
		for _, v := range f.v[name] {
			p.Hidden = append(p.Hidden, [2]string{name, v})
		}
	}
	status := http.StatusOK
	if len(f.faults) > 0 {
		status = http.StatusUnprocessableEntity
	}
	s.pages.Show(w, r, status, "review", page.Frame{Title: f.t("Before it is saved"), Site: f.site, Here: "log", Body: p})
}

// valuesOfRecord fills a form from a record, for its correction.
func valuesOfRecord(x *garden.Record, site *garden.Site) url.Values {
	zone := site.Location()
	v := url.Values{
		"planting": {x.Planting}, "threats": x.Threats, "day": {localDay(x.Start, site).String()}, "clock": {x.Start.In(zone).Format("15:04")},
		"replaces": {x.ID}, "with": {x.Material}, "product": {x.Product}, "ingredient": {x.Ingredient}, "bloom": {string(x.Seen.Bloom)}, "note": {x.Note},
		"amount_unit": {x.AmountUnit}, "water_unit": {x.WaterUnit}, "area_unit": {x.AreaUnit}, "method": {x.Method}, "target": {x.Target}, "bbch": {whole(x.BBCH)},
		"reason": {string(x.Reason)}, "wind_from": {x.Seen.WindFrom}, "sky": {x.Seen.Sky}, "bees": {x.Seen.Bees}, "place": {x.Place},
		"certificate": {x.Certificate}, "result": {string(x.Result)}, "despite": {x.Despite},
	}
	switch {
	case !x.Sprayed():
		v.Set("with", withNothing)
	case x.Material == "":
		v.Set("with", withOther)
	}
	if !x.End.IsZero() {
		v.Set("until", x.End.In(zone).Format("15:04"))
	}
	if !x.ResultOn.IsZero() {
		v.Set("result_on", x.ResultOn.String())
	}
	if x.Test {
		v.Set("test", "yes")
	}
	area := x.Area
	for name, n := range map[string]*float64{"amount": x.Amount, "water": x.Water, "area": &area, "temp": (*float64)(x.Seen.Temp), "wind": (*float64)(x.Seen.Wind)} {
		if n != nil && *n != 0 {
			v.Set(name, fmt.Sprintf("%g", *n))
		}
	}
	if x.Seen.Temp != nil {
		v.Set("temp", v.Get("temp")+" C")
	}
	if x.Seen.Wind != nil {
		v.Set("wind", v.Get("wind")+" m/s")
	}
	return v
}

func sortedKeys(v url.Values) []string {
	out := make([]string, 0, len(v))
	for k := range v {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}
