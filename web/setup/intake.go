package setup

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
)

// What a table can hold.
const (
	plantingRows  = "plantings"
	scoutingRows  = "looks"
	arrivalRows   = "arrivals"
	treatmentRows = "treatments"
)

// column is one field that a table can have, with the headings by which it is
// guessed.
type column struct {
	key, label string
	needed     bool
	heads      []string
}

var columnsOf = map[string][]column{
	plantingRows: {
		{"plot", "Bed", true, []string{"plot", "bed", "row"}}, {"crop", "Crop", true, []string{"crop", "plant", "vegetable"}},
		{"cultivar", "Cultivar", false, []string{"cultivar", "variety"}}, {"sown", "Sown", false, []string{"sown", "sowed", "seeded"}},
		{"plantedOut", "Planted out", false, []string{"planted_out", "planted out", "planted", "transplanted"}}, {"removed", "Ended", false, []string{"removed", "ended", "pulled"}},
		{"susceptibility", "How readily it takes disease", false, []string{"susceptibility", "resistance"}},
		{"cover", "Cover", false, []string{"cover"}}, {"mulch", "Mulch", false, []string{"mulch"}}, {"irrigation", "Water", false, []string{"irrigation", "water"}},
	},
	scoutingRows: {
		{"date", "Day", true, []string{"date", "day", "seen"}}, {"threat", "Threat", true, []string{"threat", "pest", "insect", "disease"}},
		{"finding", "Found or none", true, []string{"finding", "found", "result"}}, {"planting", "Planting", false, []string{"planting"}},
		{"plot", "Bed", false, []string{"plot", "bed"}}, {"stage", "What was seen", false, []string{"stage"}}, {"plants", "Plants looked at", false, []string{"plants"}},
		{"count", "Count", false, []string{"count", "number"}}, {"percent", "Percent", false, []string{"percent", "%"}}, {"note", "Note", false, []string{"note", "notes", "comment"}},
	},
	arrivalRows: {
		{"year", "Year", true, []string{"year", "season"}}, {"date", "First found", true, []string{"date", "first", "found"}},
		{"none", "Last looked and found none", false, []string{"none", "last none"}}, {"note", "Note", false, []string{"note", "notes", "comment"}},
	},
	treatmentRows: {
		{"date", "Day, or day and time", true, []string{"date", "day", "at", "start"}}, {"planting", "Planting", true, []string{"planting"}},
		{"material", "Material", false, []string{"material", "product"}}, {"ingredient", "Active ingredient", false, []string{"ingredient", "active ingredient"}},
		{"threats", "Against", false, []string{"threats", "target", "against"}}, {"note", "Note", false, []string{"note", "notes", "comment"}},
	},
}

// guess finds the column of each field by the heading; -1 is none.
func guess(kind string, head []string) map[string]int {
	out := map[string]int{}
	used := map[int]bool{}
	for _, c := range columnsOf[kind] {
		out[c.key] = -1
		for _, h := range c.heads {
			i := slices.IndexFunc(head, func(x string) bool {
				return strings.EqualFold(strings.ReplaceAll(x, "_", " "), strings.ReplaceAll(h, "_", " "))
			})
			if i >= 0 && !used[i] {
				out[c.key], used[i] = i, true
				break
			}
		}
	}
	return out
}

// intake turns the rows of a table into what they say.
type intake struct {
	kind, order  string
	site         *garden.Site
	threat, plot string // of an arrival log
	by           string
	at           map[string]int // field to column
	cat          Catalogue
	today        civil.Date
}

// intakeResult is what a table says.
type intakeResult struct {
	Site       *garden.Site // the site with the plantings, nil where there are none
	Plantings  int
	NewPlots   []string
	Scoutings  []garden.Scouting
	Treatments []garden.Treatment
	Faults     []lineFault
	Again      int      // rows that are there already
	Unused     []string // headings of columns that went into no field
	InNote     bool     // but into the note
}

type lineFault struct {
	Line int
	Row  tableRow
	Text string
}

// read reads the whole table. A row with a fault is left out and named; the others
// are read.
func (in *intake) read(t *table, ever taken) *intakeResult {
	out := &intakeResult{InNote: in.kind != plantingRows}
	used := map[int]bool{}
	for _, i := range in.at {
		used[i] = true
	}
	for i, h := range t.head {
		if !used[i] {
			out.Unused = append(out.Unused, h)
		}
	}
	if in.kind == plantingRows {
		out.Site = in.site
	}
	for i := range t.rows {
		row := &t.rows[i]
		get := func(key string) string { return t.cell(row, in.column(key)) }
		var err error
		switch in.kind {
		case plantingRows:
			err = in.planting(get, out, &ever)
		case scoutingRows:
			err = in.scouting(get, in.rest(t, row), out)
		case arrivalRows:
			err = in.arrival(get, in.rest(t, row), out)
		case treatmentRows:
			err = in.treatment(get, in.rest(t, row), out)
		}
		if err != nil {
			out.Faults = append(out.Faults, lineFault{row.line, *row, err.Error()})
		}
	}
	return out
}

func (in *intake) column(key string) int {
	if i, ok := in.at[key]; ok {
		return i
	}
	return -1
}

// rest is what stands in columns that are no field, so that nothing is lost.
func (in *intake) rest(t *table, row *tableRow) string {
	used := map[int]bool{}
	for _, i := range in.at {
		used[i] = true
	}
	var out []string
	for i, c := range row.cells {
		if used[i] || c == "" {
			continue
		}
		name := fmt.Sprintf("column %d", i+1)
		if i < len(t.head) {
			name = t.head[i]
		}
		out = append(out, name+": "+c)
	}
	return strings.Join(out, "; ")
}

func joinNotes(a, b string) string {
	if a != "" && b != "" {
		return a + "; " + b
	}
	return a + b
}

func (in *intake) day(text string) (civil.Date, error) { return dayOf(text, in.order) }

// cropOf finds a crop by id, name or botanical name, in the singular too.
func cropOf(text string) (string, bool) {
	low := strings.ToLower(strings.TrimSpace(text))
	for _, try := range []string{low, strings.TrimSuffix(low, "s"), strings.TrimSuffix(low, "es")} {
		if c, ok := garden.CropByID(try); ok {
			return c.ID, true
		}
		for _, c := range garden.Crops() {
			if strings.EqualFold(c.Name, try) || strings.EqualFold(c.Latin, try) {
				return c.ID, true
			}
		}
	}
	return low, false
}

func (in *intake) planting(get func(string) string, out *intakeResult, ever *taken) error {
	var p garden.Planting
	p.Crop, _ = cropOf(get("crop")) // one that is not known is refused with the nearest
	p.Cultivar = get("cultivar")
	for key, at := range map[string]*civil.Date{"sown": &p.Sown, "plantedOut": &p.PlantedOut, "removed": &p.Removed} {
		if text := get(key); text != "" {
			d, err := in.day(text)
			if err != nil {
				return err
			}
			*at = d
		}
	}
	for key, read := range map[string]func([]byte) error{"susceptibility": p.Susceptibility.UnmarshalText, "cover": p.Cover.UnmarshalText, "mulch": p.Mulch.UnmarshalText, "irrigation": p.Irrigation.UnmarshalText} {
		if text := get(key); text != "" {
			if err := read([]byte(strings.ToLower(text))); err != nil {
				return fmt.Errorf("%s: %w", key, err)
			}
		}
	}
	bed := get("plot")
	if bed == "" {
		return fmt.Errorf("it has no bed")
	}
	p.ID = "x" // judged with a name of its own, then given one
	alone := garden.Site{ID: "x", Latitude: 1, Zone: "UTC", Plots: []garden.Plot{{ID: "x", Plantings: []garden.Planting{p}}}}
	if problems, _ := garden.ValidateSite(&alone, garden.Around{}); len(problems) > 0 {
		return fmt.Errorf("%s", problems[0].Message)
	}
	site := cloneSite(out.Site)
	plot := findPlot(site, bed)
	if plot == nil {
		id := newID(bed, "bed", ever.plots)
		ever.plots[id] = true
		site.Plots = append(site.Plots, garden.Plot{ID: id, Name: bed})
		plot = &site.Plots[len(site.Plots)-1]
		out.NewPlots = append(out.NewPlots, bed)
	}
	for i := range plot.Plantings {
		if q := &plot.Plantings[i]; q.Crop == p.Crop && q.Cultivar == p.Cultivar && q.InGround() == p.InGround() {
			out.Again++
			return nil
		}
	}
	p.ID = newID(fmt.Sprintf("%s %d", p.Crop, p.InGround().Year()), "planting", ever.plantings)
	ever.plantings[p.ID] = true
	plot.Plantings = append(plot.Plantings, p)
	out.Site, out.Plantings = site, out.Plantings+1
	return nil
}

func cloneSite(s *garden.Site) *garden.Site {
	x := *s
	x.Plots = slices.Clone(s.Plots)
	for i := range x.Plots {
		x.Plots[i].Plantings = slices.Clone(x.Plots[i].Plantings)
	}
	return &x
}

// findPlot finds a bed by its id or its name.
func findPlot(s *garden.Site, text string) *garden.Plot {
	for i := range s.Plots {
		if p := &s.Plots[i]; strings.EqualFold(p.ID, text) || strings.EqualFold(p.Name, text) {
			return p
		}
	}
	return nil
}

// findPlanting finds a planting by its id, or by bed and crop on a day.
func findPlanting(s *garden.Site, text string, on civil.Date) (*garden.Plot, *garden.Planting) {
	if plot, p := s.Find(text); p != nil {
		return plot, p
	}
	crop, ok := cropOf(text)
	var plot *garden.Plot
	var found *garden.Planting
	for i := range s.Plots {
		for j := range s.Plots[i].Plantings {
			p := &s.Plots[i].Plantings[j]
			if ok && p.Crop == crop && p.GrowingOn(on) {
				if found != nil {
					return nil, nil // which of the two is not said
				}
				plot, found = &s.Plots[i], p
			}
		}
	}
	return plot, found
}

// importID is the same for the same row, so that a table that is sent twice counts
// once.
func importID(parts ...any) string {
	sum := sha256.Sum256([]byte(fmt.Sprint(parts...)))
	return "import-" + hex.EncodeToString(sum[:10])
}

func (in *intake) around() garden.Around {
	return garden.Around{
		Known:  garden.Known{Threats: in.cat.IDs()},
		Site:   func(id string) *garden.Site { return in.site },
		Person: func(string) bool { return true }, SiteIDs: func() []string { return nil }, PersonIDs: func() []string { return nil },
	}
}

func (in *intake) add(s garden.Scouting, out *intakeResult) error {
	if s.Date > in.today {
		return fmt.Errorf("%s is still to come", s.Date)
	}
	if problems, _ := garden.ValidateScouting(&s, in.around()); len(problems) > 0 {
		return fmt.Errorf("%s", problems[0].Message)
	}
	count, percent := "", ""
	if s.Count != nil {
		count = strconv.Itoa(*s.Count)
	}
	if s.Percent != nil {
		percent = num(*s.Percent)
	}
	s.ID = importID(s.Site, "|", s.Plot, "|", s.Planting, "|", s.Threat, "|", s.Date, "|", s.Finding, "|", s.Stage, "|", s.Plants, "|", count, "|", percent, "|", s.Note)
	if slices.ContainsFunc(out.Scoutings, func(x garden.Scouting) bool { return x.ID == s.ID }) {
		out.Again++
		return nil
	}
	out.Scoutings = append(out.Scoutings, s)
	return nil
}

func (in *intake) scouting(get func(string) string, rest string, out *intakeResult) error {
	s := garden.Scouting{Site: in.site.ID, By: in.by, Threat: threatID(in.cat, get("threat")), Stage: get("stage"), Note: joinNotes(get("note"), rest)}
	var err error
	if s.Date, err = in.day(get("date")); err != nil {
		return err
	}
	switch word := strings.ToLower(get("finding")); word {
	case "found", "yes", "y", "1", "true", "seen":
		s.Finding = garden.Found
	case "none", "no", "n", "0", "false", "not found":
		s.Finding = garden.None
	case "unsure", "?":
		s.Finding = garden.Unsure
	default:
		return fmt.Errorf("%q is not one of: found, none, unsure", word)
	}
	if text := get("plot"); text != "" {
		p := findPlot(in.site, text)
		if p == nil {
			return fmt.Errorf("there is no bed %q", text)
		}
		s.Plot = p.ID
	}
	if text := get("planting"); text != "" {
		plot, p := findPlanting(in.site, text, s.Date)
		if p == nil {
			return fmt.Errorf("no one planting is meant by %q on %s", text, s.Date)
		}
		s.Planting, s.Plot = p.ID, plot.ID
	}
	if text := get("plants"); text != "" {
		if s.Plants, err = strconv.Atoi(text); err != nil {
			return fmt.Errorf("plants: %q is not a whole number", text)
		}
	}
	if text := get("count"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil {
			return fmt.Errorf("count: %q is not a whole number", text)
		}
		s.Count = &n
	}
	if text := strings.TrimSuffix(get("percent"), "%"); text != "" {
		x, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
		if err != nil {
			return fmt.Errorf("percent: %q is not a number", text)
		}
		s.Percent = &x
	}
	return in.add(s, out)
}

// arrival reads a past log: the first find of a year, and the last look before it
// that found none.
func (in *intake) arrival(get func(string) string, rest string, out *intakeResult) error {
	year, err := strconv.Atoi(get("year"))
	if err != nil {
		return fmt.Errorf("year: %q is not a year", get("year"))
	}
	var made []garden.Scouting
	for _, x := range []struct {
		key     string
		finding garden.Finding
	}{{"none", garden.None}, {"date", garden.Found}} {
		text := get(x.key)
		if text == "" {
			continue
		}
		d, err := in.day(text)
		if err != nil { // 06-04 with the year beside it
			if m, merr := civil.ParseMonthDay(text); merr == nil {
				d, err = m.In(year), nil
			}
		}
		if err != nil {
			return err
		}
		// South of the equator a season goes over the turn of the year.
		if d.Year() != year && d.Year() != year+1 {
			return fmt.Errorf("%s does not lie in the season %d", d, year)
		}
		made = append(made, garden.Scouting{Site: in.site.ID, Plot: in.plot, By: in.by, Threat: in.threat, Date: d, Finding: x.finding, Note: joinNotes(get("note"), rest)})
	}
	if len(made) == 0 {
		return fmt.Errorf("it has no day; a season without a find needs the last look that found none")
	}
	for _, s := range made {
		if err := in.add(s, out); err != nil {
			return err
		}
	}
	return nil
}

func (in *intake) treatment(get func(string) string, rest string, out *intakeResult) error {
	text := get("date")
	var at time.Time
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		at = t
	} else {
		day, clock, _ := strings.Cut(strings.Replace(text, "T", " ", 1), " ")
		d, err := in.day(day)
		if err != nil {
			return err
		}
		hour, minute := 12, 0 // a day alone is its noon
		if clock != "" {
			c, err := time.Parse("15:04", clock)
			if err != nil {
				return fmt.Errorf("%q is not a time of the form 19:30", clock)
			}
			hour, minute = c.Hour(), c.Minute()
		}
		at = d.Slot(hour, minute, in.site.Location())
	}
	t := garden.Treatment{Site: in.site.ID, At: at.UTC(), Material: get("material"), Ingredient: get("ingredient"), By: in.by, Note: joinNotes(get("note"), rest)}
	_, p := findPlanting(in.site, get("planting"), civil.Of(at, in.site.Location()))
	if p == nil {
		return fmt.Errorf("no one planting is meant by %q on that day", get("planting"))
	}
	t.Planting = p.ID
	for _, x := range commaList(get("threats")) {
		t.Threats = append(t.Threats, threatID(in.cat, x))
	}
	if problems, _ := garden.ValidateTreatment(&t, in.around()); len(problems) > 0 {
		return fmt.Errorf("%s", problems[0].Message)
	}
	if civil.Of(at, in.site.Location()) > in.today {
		return fmt.Errorf("%s is still to come", civil.Of(at, in.site.Location()))
	}
	t.ID = importID(t.Site, "|", t.Planting, "|", t.At, "|", t.Material, "|", t.Ingredient, "|", t.Threats, "|", t.Note)
	if slices.ContainsFunc(out.Treatments, func(x garden.Treatment) bool { return x.ID == t.ID }) {
		out.Again++
		return nil
	}
	out.Treatments = append(out.Treatments, t)
	return nil
}
