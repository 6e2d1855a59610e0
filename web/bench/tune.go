package bench

import (
	"bytes"
	"errors"
	"html/template"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"plotwarden/access"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/catalog"
	"plotwarden/risk/replay"
	"plotwarden/risk/tuning"
	"plotwarden/web/page"
	"plotwarden/web/say"
)

type tuneView struct {
	Name, At, Model, ModelName, Fault string
	Choose                            []page.Field // of the model
	Fields                            []page.Field // of the number
	Trial                             *trialView
	Save                              []page.Field
	Hidden                            [][2]string
}

// Wrong are the fields with something wrong.
func (v tuneView) Wrong() []page.Field { return page.Faults(v.Fields...) }

type trialView struct {
	Was, Tuned, Published string
	Summary               string
	Warnings, Notes       []string
	Rows                  []rowView
	Drawings              []template.HTML
}

type rowView struct {
	Site           string
	Year           int
	Chosen         bool
	OldErr, NewErr string
	Old, New       string
}

// numberKey joins which number is meant for a form; stages may hold anything but a
// line's end.
func numberKey(what tuning.What, stage string) string { return string(what) + "\n" + stage }

func (s *server) tunePage(w http.ResponseWriter, r *http.Request) {
	x, _, ok := s.find(w, r)
	if !ok {
		return
	}
	v := s.tuneView(r, x, r.URL.Query().Get("model"), "", "", "")
	s.pages.Show(w, r, http.StatusOK, "tune", page.Frame{Title: s.Kit.T(r)("Tune a number"), Here: "region", Body: v})
}

func (s *server) tuneView(r *http.Request, x *garden.Region, model, number, to, heldOut string) tuneView {
	t := s.Kit.T(r)
	v := tuneView{Name: name(x), At: at(x.ID), Model: model}
	choices := []page.Choice{{Text: t("choose")}}
	for _, id := range s.Catalogue.ModelIDs() {
		choices = append(choices, page.Choice{Value: id, Text: s.modelName(id), Chosen: id == model})
	}
	v.Choose = []page.Field{{Name: "model", Label: t("Rule"), Type: "select", Choices: choices, Required: true, Hint: t("By threat, author and year.")}}
	m, ok := s.Catalogue.Model(model)
	if !ok {
		if model != "" {
			v.Choose[0].Fault = t("There is no such rule.")
		}
		v.Model = ""
		return v
	}
	v.ModelName = s.modelName(model)
	v.Fields = []page.Field{
		{Name: "number", Label: t("Number"), Type: "select", Choices: numbersOf(t, m, number), Required: true, Hint: t("With what the publication gives.")},
		{Name: "to", Label: t("Changed to"), Value: to, Required: true, Max: 20, Hint: t("A number, or a day of the year as 03-15.")},
		{Name: "heldOut", Label: t("Years that nobody looked at when it was chosen"), Value: heldOut, Max: 200, Hint: t("With commas between: 2023, 2024. What the other years say for it is no proof.")},
	}
	if len(v.Fields[0].Choices) == 1 {
		v.Fault = t("This rule has no number that can be tuned: all of its numbers belong to its method.")
		v.Fields = nil
	}
	return v
}

func (s *server) modelName(id string) string {
	threat, rest, _ := strings.Cut(id, "/")
	if x, ok := s.Catalogue.ByID(threat); ok {
		return say.Upper(x.Name) + ", " + rest
	}
	return id
}

// numbersOf are the numbers of a rule that can be changed.
func numbersOf(t func(string, ...any) string, m *catalog.Model, now string) []page.Choice {
	out := []page.Choice{{Text: t("choose")}}
	add := func(what tuning.What, stage, words string) {
		if v, err := tuning.Value(m, what, stage); err == nil {
			key := numberKey(what, stage)
			out = append(out, page.Choice{Value: key, Text: words + ": " + v, Chosen: key == now})
		}
	}
	for _, st := range m.Spec.Stages() {
		add(tuning.StageValue, st.Name, say.Upper(st.Name))
	}
	add(tuning.StartDay, "", t("Day from which it counts"))
	add(tuning.Humidity, "", t("Humidity from which an hour counts, %"))
	return out
}

// sentChange reads a change from a form.
func sentChange(r *http.Request) (c tuning.Tuning, heldOut []int) {
	what, stage, _ := strings.Cut(strings.ReplaceAll(r.PostFormValue("number"), "\r\n", "\n"), "\n")
	c = tuning.Tuning{Model: r.PostFormValue("model"), What: tuning.What(what), Stage: stage, Tuned: strings.TrimSpace(r.PostFormValue("to"))}
	for _, f := range strings.FieldsFunc(r.PostFormValue("heldOut"), func(x rune) bool { return x < '0' || x > '9' }) {
		if y, err := strconv.Atoi(f); err == nil {
			heldOut = append(heldOut, y)
		}
	}
	return c, heldOut
}

func (s *server) try(w http.ResponseWriter, r *http.Request) {
	x, _, ok := s.find(w, r)
	if !ok || !s.may(w, r, x.ID) {
		return
	}
	t := s.Kit.T(r)
	change, heldOut := sentChange(r)
	v := s.tuneView(r, x, change.Model, numberKey(change.What, change.Stage), change.Tuned, r.PostFormValue("heldOut"))
	status := http.StatusOK
	trial, err := s.Tunings.Try(r.Context(), x.ID, change, access.From(r.Context()), heldOut)
	if err != nil {
		if !errors.Is(err, ErrRefused) {
			s.Kit.Fail(w, r, err)
			return
		}
		status = http.StatusUnprocessableEntity
		if len(v.Fields) > 1 {
			v.Fields[1].Fault = say.Upper(plain(err)) + "."
		} else {
			v.Fault = say.Upper(plain(err)) + "."
		}
	} else {
		v.Trial = trialOf(t, trial)
		v.Save = []page.Field{{Name: "why", Label: t("Why"), Required: true, Max: 300, Hint: t("What others should know who read it years from now. Your name and today's date go with it.")}}
		v.Hidden = [][2]string{{"model", change.Model}, {"number", numberKey(change.What, change.Stage)}, {"to", change.Tuned}, {"heldOut", r.PostFormValue("heldOut")}}
	}
	s.pages.Show(w, r, status, "tune", page.Frame{Title: t("Tune a number"), Here: "region", Body: v})
}

// plain is a refusal without the mark by which it is known.
func plain(err error) string {
	return strings.TrimPrefix(strings.TrimSuffix(err.Error(), ": "+ErrRefused.Error()), ErrRefused.Error()+": ")
}

// lead is the place in replay.Leads of the lead that the table shows: two weeks.
const lead = 1

func trialOf(t func(string, ...any) string, x *Trial) *trialView {
	v := &trialView{Was: x.Was, Tuned: x.Change.Tuned, Published: x.Change.Published, Summary: x.Change.Result, Warnings: x.Warnings, Notes: x.Notes}
	for _, row := range x.Rows {
		v.Rows = append(v.Rows, rowView{Site: row.Site, Year: row.Year, Chosen: row.Chosen, OldErr: days(row.Old.At[lead].Error), NewErr: days(row.New.At[lead].Error), Old: outcome(t, &row.Old), New: outcome(t, &row.New)})
	}
	slices.SortStableFunc(v.Rows, func(a, b rowView) int { return b.Year - a.Year })
	for _, d := range x.Drawings {
		v.Drawings = append(v.Drawings, template.HTML(d.SVG)) //nolint:gosec // drawn by risk/replay, which escapes what it writes
	}
	return v
}

func days(x float64) string {
	if math.IsNaN(x) {
		return say.Missing
	}
	return strconv.FormatFloat(x, 'f', 1, 64)
}

func outcome(t func(string, ...any) string, s *replay.Score) string {
	switch {
	case s.Hits > 0 && s.FalseAlarms == 0:
		return t("warned")
	case s.Hits > 0:
		return t("warned, %d false alarms", s.FalseAlarms)
	case s.Misses > 0:
		return t("missed")
	case s.FalseAlarms > 0:
		return t("%d false alarms", s.FalseAlarms)
	}
	return t("quiet")
}

func (s *server) save(w http.ResponseWriter, r *http.Request) {
	x, _, ok := s.find(w, r)
	if !ok || !s.may(w, r, x.ID) {
		return
	}
	who := access.From(r.Context())
	change, heldOut := sentChange(r)
	change.Why, change.Who, change.When = strings.TrimSpace(r.PostFormValue("why")), who.Name, civil.Of(s.Now(), s.Now().Location())
	if change.Who == "" {
		change.Who = who.Person
	}
	if change.Who == "" {
		change.Who = s.Kit.T(r)("somebody")
	}
	// The comparison is made again: what is saved says what it rests on.
	trial, err := s.Tunings.Try(r.Context(), x.ID, change, who, heldOut)
	if err == nil {
		err = s.Tunings.Save(r.Context(), x.ID, trial.Change, who.Person)
	}
	if err != nil {
		s.refuse(w, r, err)
		return
	}
	s.Kit.Audit(r, "tuned", x.ID, change.Model+" "+change.Stage+" to "+change.Tuned)
	http.Redirect(w, r, at(x.ID)+"?done=saved", http.StatusSeeOther)
}

func (s *server) refuse(w http.ResponseWriter, r *http.Request, err error) {
	if !errors.Is(err, ErrRefused) {
		s.Kit.Fail(w, r, err)
		return
	}
	s.Kit.Say(w, r, http.StatusUnprocessableEntity, page.Fault{Title: s.Kit.T(r)("It cannot be done so"), Text: say.Upper(plain(err)) + "."})
}

func (s *server) undo(w http.ResponseWriter, r *http.Request) {
	x, _, ok := s.find(w, r)
	if !ok || !s.may(w, r, x.ID) {
		return
	}
	who := access.From(r.Context())
	name := who.Name
	if name == "" {
		name = s.Kit.T(r)("somebody")
	}
	if err := s.Tunings.Undo(r.Context(), x.ID, r.PathValue("id"), name, strings.TrimSpace(r.PostFormValue("why")), who.Person); err != nil {
		s.refuse(w, r, err)
		return
	}
	s.Kit.Audit(r, "undid-tuning", x.ID, r.PathValue("id"))
	http.Redirect(w, r, at(x.ID)+"?done=undone", http.StatusSeeOther)
}

func (s *server) export(w http.ResponseWriter, r *http.Request) {
	x, _, ok := s.find(w, r)
	if !ok || !s.may(w, r, x.ID) { // what is signed speaks for the region
		return
	}
	var b bytes.Buffer
	if err := s.Tunings.Export(r.Context(), x.ID, access.From(r.Context()).Name, &b); err != nil {
		s.refuse(w, r, err)
		return
	}
	attach(w, "tunings-"+x.ID+".yaml", "application/yaml; charset=utf-8", b.Bytes())
}

func attach(w http.ResponseWriter, name, kind string, body []byte) {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Disposition", `attachment; filename="`+name+`"`)
	h.Set("Cache-Control", "private, no-cache")
	h.Set("Content-Length", strconv.Itoa(len(body)))
	_, _ = w.Write(body) // a reader that went away needs no answer
}

func (s *server) importFile(w http.ResponseWriter, r *http.Request) {
	x, g, ok := s.find(w, r)
	if !ok || !s.may(w, r, x.ID) {
		return
	}
	t := s.Kit.T(r)
	file, head, err := r.FormFile("file")
	if err != nil {
		s.showRegion(w, r, http.StatusUnprocessableEntity, x, g, t("Choose the file to take in."), nil)
		return
	}
	defer file.Close()
	trusting := strings.TrimSpace(r.PostFormValue("trusting"))
	if err := s.Tunings.Import(r.Context(), x.ID, head.Filename, file, trusting, access.From(r.Context()).Person); err != nil {
		if !errors.Is(err, ErrRefused) {
			s.Kit.Fail(w, r, err)
			return
		}
		s.showRegion(w, r, http.StatusUnprocessableEntity, x, g, say.Upper(plain(err))+".", importFields(t, trusting, ""))
		return
	}
	s.Kit.Audit(r, "imported-tunings", x.ID, head.Filename)
	http.Redirect(w, r, at(x.ID)+"?done=imported", http.StatusSeeOther)
}
