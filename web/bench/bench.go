// Package bench is where a volunteer works on a region: how its sites' data are
// doing, the numbers tuned for it, its newsletter, what was looked for.
package bench

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"io"
	"net/http"
	"time"

	"plotwarden/access"
	"plotwarden/alerts/letter"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/catalog"
	"plotwarden/risk/tuning"
	"plotwarden/store"
	"plotwarden/web/page"
	"plotwarden/web/say"
	"plotwarden/web/view"
)

//go:embed templates
var templateFiles embed.FS

// Data is what is read of the region's sites.
type Data interface {
	LatestRound(ctx context.Context, site string) (store.Round, error)
	Sources(ctx context.Context, site string) ([]store.SourceStatus, error)
	Quality(ctx context.Context, site string) (store.Quality, error)
	Scoutings(ctx context.Context, site string) ([]garden.Scouting, error)
}

// Drawing is one SVG file.
type Drawing struct{ Name, SVG string }

// Trial is the old and the new number side by side.
type Trial struct {
	Change tuning.Tuning // as it would be saved
	Was    string        // the number in force so far
	*tuning.Comparison
	Notes    []string
	Drawings []Drawing
}

// Entry is one entry of a region's record of changes.
type Entry struct {
	ID, By, UndoneBy, Undoes, Fault string
	At                              time.Time
	Changes                         []tuning.Tuning
}

// ErrRefused is wrapped where a change or a file is refused for a reason that its
// maker should read.
var ErrRefused = errors.New("refused")

// Tunings are the regions' changed numbers.
type Tunings interface {
	Try(ctx context.Context, region string, change tuning.Tuning, who access.Who, heldOut []int) (*Trial, error)
	List(ctx context.Context, region string) ([]Entry, error)
	Save(ctx context.Context, region string, change tuning.Tuning, by string) error
	Undo(ctx context.Context, region, id, who, why, by string) error
	Export(ctx context.Context, region, signer string, w io.Writer) error
	Import(ctx context.Context, region, name string, r io.Reader, trusting, by string) error
}

// Deps is what the pages are made from.
type Deps struct {
	Kit       *page.Kit
	Garden    func() *garden.Garden
	Catalogue *catalog.Catalogue // as published
	Data      Data
	Tunings   Tunings
	Letter    func(ctx context.Context, region string) (letter.Letter, error)
	Now       func() time.Time
	StaleHour int // age in hours from which weather is too old
}

type server struct {
	Deps
	pages *page.Set
}

// fileLimit bounds an imported file, bytes.
const fileLimit = 1 << 20

// Mount adds the pages to a mux.
func Mount(m *page.Mux, d Deps) {
	s := &server{Deps: d, pages: d.Kit.Parse(templateFiles, "templates/", "regions", "region", "tune", "letter")}
	m.HandleFunc("GET /region", s.list)
	m.HandleFunc("GET /region/{region}", s.region)
	m.HandleFunc("GET /region/{region}/tune", s.tunePage)
	m.HandleFunc("POST /region/{region}/tune", s.try)
	m.HandleFunc("POST /region/{region}/tunings", s.save)
	m.HandleFunc("POST /region/{region}/tunings/{id}/undo", s.undo)
	m.HandleFunc("GET /region/{region}/tunings.yaml", s.export)
	m.HandleFunc("POST /region/{region}/tunings/import", s.importFile, page.Limit(fileLimit))
	m.HandleFunc("GET /region/{region}/letter", s.letterPage)
	m.HandleFunc("POST /region/{region}/letter", s.download, page.Limit(fileLimit))
}

// list shows the regions of the reader; the only one at once.
func (s *server) list(w http.ResponseWriter, r *http.Request) {
	g, who := s.Garden(), access.From(r.Context())
	var links []view.Link
	for i := range g.Regions {
		if x := &g.Regions[i]; who.SeeRegion(x.ID) {
			links = append(links, view.Link{Text: name(x), Href: at(x.ID)})
		}
	}
	if len(links) == 1 {
		http.Redirect(w, r, links[0].Href, http.StatusSeeOther)
		return
	}
	s.pages.Show(w, r, http.StatusOK, "regions", page.Frame{Title: s.Kit.T(r)("Regions"), Here: "region", Body: links})
}

// find returns the region that the reader may see, or answers.
func (s *server) find(w http.ResponseWriter, r *http.Request) (*garden.Region, *garden.Garden, bool) {
	g := s.Garden()
	id := r.PathValue("region")
	for i := range g.Regions {
		if g.Regions[i].ID == id && access.From(r.Context()).SeeRegion(id) {
			return &g.Regions[i], g, true
		}
	}
	s.Kit.NotFound(w, r, "There is no region of that name here.")
	return nil, nil, false
}

// may answers who may see a region and not change it.
func (s *server) may(w http.ResponseWriter, r *http.Request, region string) bool {
	if access.From(r.Context()).Tune(region) {
		return true
	}
	s.Kit.Refuse(w, r, s.Kit.T(r)("The numbers of this region are not yours to change."))
	return false
}

func name(r *garden.Region) string {
	if r.Name == "" {
		return r.ID
	}
	return r.Name
}

func at(region string) string { return "/region/" + region }

// siteLine is one site with how its data are doing.
type siteLine struct {
	Name, Href, WeatherHref string
	Age, Judged             string
	Old                     bool
	Blind                   string
	Sources, Doubts         []string
	Looks, Finds            int
}

type entryLine struct {
	ID, When, Who string
	Changes       []string
	Warnings      []string
	Fault         string
	Undone        bool
	Undo          bool
	Field         page.Field
}

type regionView struct {
	Name, At, Done, Fault string
	Tune                  bool
	Sites                 []siteLine
	More                  string
	Entries               []entryLine
	Import                []page.Field
	Days                  int
	Pages                 []view.Link
}

// sitesPerPage bounds what one page reads.
const sitesPerPage = 20

// lookDays is over how many days looks are counted.
const lookDays = 30

func (s *server) region(w http.ResponseWriter, r *http.Request) {
	if x, g, ok := s.find(w, r); ok {
		s.showRegion(w, r, http.StatusOK, x, g, "", nil)
	}
}

func (s *server) showRegion(w http.ResponseWriter, r *http.Request, status int, x *garden.Region, g *garden.Garden, fault string, fields []page.Field) {
	t := s.Kit.T(r)
	v := regionView{Name: name(x), At: at(x.ID), Tune: access.From(r.Context()).Tune(x.ID), Fault: fault, Days: lookDays, Import: fields}
	switch r.URL.Query().Get("done") {
	case "saved":
		v.Done = t("Saved. Rounds from now on use the changed number; the published one stays beside it.")
	case "undone":
		v.Done = t("Taken back. The number before it holds again.")
	case "imported":
		v.Done = t("Taken in.")
	}
	n := 1
	_, _ = fmt.Sscan(r.URL.Query().Get("page"), &n)
	sites := sitesOf(g, x)
	last := max(1, (len(sites)+sitesPerPage-1)/sitesPerPage)
	n = min(max(n, 1), last)
	for _, site := range sites[(n-1)*sitesPerPage : min(n*sitesPerPage, len(sites))] {
		line, err := s.line(r, site)
		if err != nil {
			s.Kit.Fail(w, r, err)
			return
		}
		v.Sites = append(v.Sites, line)
	}
	for i := 1; last > 1 && i <= last; i++ {
		if i != n && (i == n-1 || i == n+1) {
			v.Pages = append(v.Pages, view.Link{Text: t("Page %d of %d", i, last), Href: fmt.Sprintf("%s?page=%d", v.At, i)})
		}
	}
	entries, err := s.Tunings.List(r.Context(), x.ID)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	for i := len(entries) - 1; i >= 0; i-- {
		v.Entries = append(v.Entries, s.entry(t, g, &entries[i], v.Tune))
	}
	if v.Import == nil {
		v.Import = importFields(t, "", "")
	}
	s.pages.Show(w, r, status, "region", page.Frame{Title: v.Name, Here: "region", Body: v})
}

func importFields(t func(string, ...any) string, trusting, fault string) []page.Field {
	return []page.Field{{Name: "trusting", Label: t("Key that you trust"), Value: trusting, Fault: fault, Max: 80,
		Hint: t("Only for a file of somebody new: the key as its maker tells you by another way than the file.")}}
}

// sitesOf are the sites of a region, in its order.
func sitesOf(g *garden.Garden, x *garden.Region) []*garden.Site {
	want := make(map[string]int, len(x.Sites))
	for i, id := range x.Sites {
		want[id] = i
	}
	found := make([]*garden.Site, len(x.Sites))
	for i := range g.Sites {
		if at, ok := want[g.Sites[i].ID]; ok {
			found[at] = &g.Sites[i]
		}
	}
	out := found[:0]
	for _, site := range found {
		if site != nil {
			out = append(out, site)
		}
	}
	return out
}

func (s *server) line(r *http.Request, site *garden.Site) (siteLine, error) {
	t, ctx, now := s.Kit.T(r), r.Context(), s.Now()
	l := siteLine{Name: site.Name, Href: view.SiteHref(site.ID), WeatherHref: view.WeatherHref(site.ID)}
	if l.Name == "" {
		l.Name = site.ID
	}
	round, err := s.Data.LatestRound(ctx, site.ID)
	switch {
	case errors.Is(err, store.ErrNotFound):
		l.Judged, l.Old = t("Not judged yet"), true
	case err != nil:
		return l, fmt.Errorf("read the round of %s: %w", site.ID, err)
	default:
		l.Judged = t("Judged %s", say.Ago(round.At, now))
		l.Age, l.Old = s.age(t, &round, now)
		blind := 0
		for i := range round.Assessments {
			if round.Assessments[i].Readiness == plan.Blind {
				blind++
			}
		}
		if blind > 0 {
			l.Blind = t("%d of %d blind", blind, len(round.Assessments))
		}
	}
	sources, err := s.Data.Sources(ctx, site.ID)
	if err != nil {
		return l, fmt.Errorf("read the sources of %s: %w", site.ID, err)
	}
	for _, x := range sources {
		text := x.Source + ": " + t("well, %s", say.Ago(x.LastGood, now))
		if x.LastErr != "" {
			text = x.Source + ": " + t("fails, %d in a row (%s)", x.Consecutive, x.Cause)
		}
		l.Sources = append(l.Sources, text)
	}
	q, err := s.Data.Quality(ctx, site.ID)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return l, fmt.Errorf("read the quality of the weather of %s: %w", site.ID, err)
	}
	for _, d := range q.Doubts {
		if d.Open {
			l.Doubts = append(l.Doubts, d.Source+": "+d.Reason)
		}
	}
	seen, err := s.Data.Scoutings(ctx, site.ID)
	if err != nil {
		return l, fmt.Errorf("read the looks of %s: %w", site.ID, err)
	}
	today := civil.Of(now, site.Location())
	for _, x := range garden.Looks(seen) {
		if today.Sub(x.Date) < lookDays && x.Date <= today {
			l.Looks++
			if x.Finding == garden.Found {
				l.Finds++
			}
		}
	}
	return l, nil
}

// age says how old the newest measured hour is, and whether that is too old.
func (s *server) age(t func(string, ...any) string, round *store.Round, now time.Time) (string, bool) {
	var until time.Time
	for i := range round.Assessments {
		if x := round.Assessments[i].WeatherUntil; x.After(until) {
			until = x
		}
	}
	if until.IsZero() {
		if len(round.Assessments) == 0 {
			return t("nothing planted"), false
		}
		return t("no measured hour yet"), true
	}
	return t("weather up to %s", say.Ago(until, now)), now.Sub(until) > time.Duration(s.StaleHour)*time.Hour
}

func (s *server) entry(t func(string, ...any) string, g *garden.Garden, e *Entry, may bool) entryLine {
	l := entryLine{ID: e.ID, When: e.At.UTC().Format("2 Jan 2006"), Who: e.By, Fault: e.Fault, Undone: e.UndoneBy != ""}
	for i := range g.People {
		if g.People[i].ID == e.By && g.People[i].Name != "" {
			l.Who = g.People[i].Name
		}
	}
	for i := range e.Changes {
		l.Changes = append(l.Changes, e.Changes[i].Model+". "+e.Changes[i].Words())
		l.Warnings = append(l.Warnings, e.Changes[i].Warnings...)
	}
	l.Undo = may && e.Undoes == "" && !l.Undone && len(l.Changes) > 0
	l.Field = page.Field{Name: "why", Label: t("Why it is taken back"), Required: true, Max: 300}
	return l
}
