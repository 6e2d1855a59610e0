// Package setup is where the ground is made in the browser: places, beds,
// plantings, people, materials, messages, weather. No file needs editing.
package setup

import (
	"context"
	"embed"
	"errors"
	"log/slog"
	"net/http"
	"time"

	"plotwarden/access"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/ground"
	"plotwarden/risk/catalog"
	"plotwarden/store"
	"plotwarden/web/page"
	"plotwarden/web/view"
)

//go:embed templates
var templateFiles embed.FS

// Runtime is the service that runs behind the pages.
type Runtime interface {
	// Check returns what is wrong with a setting: *ground.Mail, *ground.Service or
	// *ground.Weather.
	Check(setting any) []garden.Fault
	// Force is what holds now, the configuration file's with the settings over it.
	Force() Force
	// KeepSecret keeps a secret of package ground.
	KeepSecret(ctx context.Context, name string, secret []byte) error
	// NewSecret draws a secret to sign a webhook with.
	NewSecret() string
	// TestMail sends a mail at once; the error says in words what the server said.
	TestMail(ctx context.Context, to, name, subject, text string) error
	// TestWebhook posts a note to the address of a person at once.
	TestWebhook(ctx context.Context, person, subject, text string) error
	// Kinds are the kinds of weather source that can be chosen.
	Kinds() []string
}

// Force is what holds now, and which of it the configuration file says.
type Force struct {
	Mail    ground.Mail // Host is empty where there is none
	Service ground.Service
	Weather ground.Weather
	// The file's, not to be changed here.
	MailFixed, LinkFixed, OperatorFixed, DigestFixed, SourcesFixed, ContactFixed bool
}

// Logs is where imported entries go. Adding the same again is no error and keeps
// the first.
type Logs interface {
	AddScouting(ctx context.Context, s garden.Scouting) error
	AddTreatment(ctx context.Context, t garden.Treatment) error
	Sources(ctx context.Context, site string) ([]store.SourceStatus, error)
}

// Catalogue is what is asked of the threats.
type Catalogue interface {
	IDs() []string
	ByID(id string) (*catalog.Threat, bool)
}

// Deps is what the pages are made from.
type Deps struct {
	Kit       *page.Kit
	Ground    *ground.Ground
	Catalogue Catalogue
	Runtime   Runtime
	Logs      Logs
	Now       func() time.Time
	Log       *slog.Logger
	// Logged is called after entries of a site were imported; may be nil.
	Logged func(site string)
}

type server struct {
	Deps
	pages *page.Set
}

// Path is where set-up begins.
const Path = "/setup"

// uploadLimit bounds an imported file, bytes.
const uploadLimit = 4 << 20

// Mount adds the pages to a mux.
func Mount(m *page.Mux, d Deps) {
	if d.Log == nil {
		d.Log = slog.Default()
	}
	s := &server{Deps: d, pages: d.Kit.Parse(templateFiles, "templates/", "page")}
	m.HandleFunc("GET "+Path, s.overview)
	m.HandleFunc("GET /setup/ground", s.groundPage)
	m.HandleFunc("POST /setup/ground", s.addGround)
	m.HandleFunc("GET /setup/site/{site}", s.sitePage)
	m.HandleFunc("POST /setup/site/{site}", s.changeSite)
	m.HandleFunc("POST /setup/site/{site}/remove", s.removeSite)
	m.HandleFunc("POST /setup/site/{site}/plots", s.addPlot)
	m.HandleFunc("GET /setup/site/{site}/plots/{plot}", s.plotPage)
	m.HandleFunc("POST /setup/site/{site}/plots/{plot}", s.changePlot)
	m.HandleFunc("POST /setup/site/{site}/plots/{plot}/remove", s.removePlot)
	m.HandleFunc("GET /setup/site/{site}/plots/{plot}/plant", s.plantPage)
	m.HandleFunc("POST /setup/site/{site}/plots/{plot}/plant", s.plant)
	m.HandleFunc("GET /setup/site/{site}/plantings/{planting}", s.plantingPage)
	m.HandleFunc("POST /setup/site/{site}/plantings/{planting}", s.changePlanting)
	m.HandleFunc("POST /setup/site/{site}/plantings/{planting}/end", s.endPlanting)
	m.HandleFunc("POST /setup/site/{site}/plantings/{planting}/remove", s.removePlanting)
	m.HandleFunc("GET /setup/site/{site}/import", s.importPage, page.Limit(uploadLimit))
	m.HandleFunc("POST /setup/site/{site}/import", s.importFile, page.Limit(uploadLimit))
	m.HandleFunc("GET /setup/people", s.peoplePage)
	m.HandleFunc("POST /setup/people", s.addPerson)
	m.HandleFunc("GET /setup/people/{person}", s.personPage)
	m.HandleFunc("POST /setup/people/{person}", s.changePerson)
	m.HandleFunc("POST /setup/people/{person}/remove", s.removePerson)
	m.HandleFunc("POST /setup/people/{person}/test", s.testPerson)
	m.HandleFunc("GET /setup/regions", s.regionsPage)
	m.HandleFunc("POST /setup/regions", s.addRegion)
	m.HandleFunc("GET /setup/regions/{region}", s.regionPage)
	m.HandleFunc("POST /setup/regions/{region}", s.changeRegion)
	m.HandleFunc("POST /setup/regions/{region}/remove", s.removeRegion)
	m.HandleFunc("GET /setup/materials", s.materialsPage)
	m.HandleFunc("POST /setup/materials", s.addMaterial)
	m.HandleFunc("GET /setup/materials/{material}", s.materialPage)
	m.HandleFunc("POST /setup/materials/{material}", s.changeMaterial)
	m.HandleFunc("POST /setup/materials/{material}/remove", s.removeMaterial)
	m.HandleFunc("GET /setup/messages", s.messagesPage)
	m.HandleFunc("POST /setup/messages", s.changeMail)
	m.HandleFunc("POST /setup/messages/service", s.changeService)
	m.HandleFunc("POST /setup/messages/test", s.testMail)
	m.HandleFunc("GET /setup/weather", s.weatherPage)
	m.HandleFunc("POST /setup/weather", s.changeWeather)
	m.HandleFunc("POST /setup/weather/stations", s.addStation)
	m.HandleFunc("POST /setup/weather/stations/{station}/remove", s.removeStation)
	m.HandleFunc("GET /setup/history/{kind}/{id}", s.historyPage)
	m.HandleFunc("POST /setup/history/{kind}/{id}", s.restore)
	m.HandleFunc("GET /you", s.youPage)
	m.HandleFunc("POST /you", s.changeYou)
}

// View is a page of set-up.
type View struct {
	Back        *view.Link
	Title, Lead string
	Done        string   // what was just done
	Fixed       string   // why nothing can be changed here
	Warn        []string // what may stand but should be looked at
	Secret      *Secret
	Forms       []Form
	Lists       []List
	ListsFirst  bool
	Links       []view.Link
}

// Secret is shown once.
type Secret struct{ Lead, Text string }

// Form is one form.
type Form struct {
	Title, Lead, Action, Submit string
	Hidden                      [][2]string
	Fields                      []page.Field
	More                        []page.Field // behind a fold
	MoreTitle                   string
	Groups                      []Group
	Picks                       *Picks
	Upload                      bool
	Get                         bool
	Quiet                       bool // its button is not the first thing to do
	Grave                       bool
}

// Wrong are the fields with something wrong.
func (f Form) Wrong() []page.Field {
	return append(page.Faults(f.Fields...), page.Faults(f.More...)...)
}

// MoreWrong says whether one of them is behind the fold.
func (f Form) MoreWrong() bool { return len(page.Faults(f.More...)) > 0 }

// Group is boxes or rounds to tick.
type Group struct {
	Legend, Hint, Name, Fault string
	One                       bool // rounds: one of them
	Choices                   []page.Choice
}

// Picks are large buttons, each of which sends the form.
type Picks struct {
	Name    string
	Choices []page.Choice
}

// List is a list of things that lead on.
type List struct {
	Title, Empty string
	Rows         []Row
	Add          *view.Link
}

// Row is one of them.
type Row struct {
	Text, Sub, Href string
	Acts            []Act
}

// Act is a button beside it.
type Act struct {
	Text, About, Action string
	Hidden              [][2]string
}

func (s *server) show(w http.ResponseWriter, r *http.Request, status int, v View) {
	s.pages.Show(w, r, status, "page", page.Frame{Title: v.Title, Here: "setup", Body: v})
}

func (s *server) today(site *garden.Site) civil.Date { return civil.Of(s.Now(), site.Location()) }

func (s *server) by(r *http.Request, why string) ground.By {
	return ground.By{Person: access.From(r.Context()).Person, Why: why}
}

// manage answers those who may not manage, and says whether one may.
func (s *server) manage(w http.ResponseWriter, r *http.Request) bool {
	who := access.From(r.Context())
	if who.Manage() || who.ReadOnly && who.Role == access.Owner && r.Method == http.MethodGet {
		return true
	}
	s.Kit.NotFound(w, r, "There is no such page.")
	return false
}

// site returns the site of the address that the reader may see, or answers.
func (s *server) site(w http.ResponseWriter, r *http.Request) (*garden.Site, bool) {
	id := r.PathValue("site")
	site := s.Ground.Now().Site(id)
	if site == nil || !access.From(r.Context()).See(id) {
		s.Kit.NotFound(w, r, "There is no ground of that name here.")
		return nil, false
	}
	return site, true
}

// mayChange answers who may not change a plot, or with an empty one the site.
func (s *server) mayChange(w http.ResponseWriter, r *http.Request, site, plot string) bool {
	who := access.From(r.Context())
	if who.Change(site, plot) {
		return true
	}
	s.Kit.Refuse(w, r, s.Kit.T(r)("This bed is not yours to change. Whoever looks after the ground can give it to you."))
	return false
}

// fail answers for an error of the ground: what the file has, what is gone, what
// is a fault of the program.
func (s *server) fail(w http.ResponseWriter, r *http.Request, err error) {
	t := s.Kit.T(r)
	switch {
	case errors.Is(err, ground.ErrFile):
		s.Kit.Refuse(w, r, t("It is set in the configuration file and can be changed there only."))
	case errors.Is(err, store.ErrNotFound):
		s.Kit.NotFound(w, r, t("It is not there any more."))
	case errors.Is(err, store.ErrConflict):
		s.Kit.Say(w, r, http.StatusConflict, page.Fault{Title: t("Somebody was first"), Text: t("Somebody changed the same at this moment. Go back, load the page again, and look at what is there now.")})
	default:
		s.Kit.Fail(w, r, err)
	}
}

// done sends the reader on after a change, with words that the next page shows.
func (s *server) done(w http.ResponseWriter, r *http.Request, to, code string) {
	if code != "" {
		to += "?done=" + code
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

// words are what the next page shows after a change.
func words(t func(string, ...any) string, r *http.Request) string {
	switch r.URL.Query().Get("done") {
	case "kept":
		return t("Kept. It counts from now on.")
	case "added":
		return t("Added. It is looked at within a minute.")
	case "person":
		return t("Added.")
	case "planted":
		return t("Planted. What may come to it is worked out within a minute.")
	case "ended":
		return t("Ended as of today.")
	case "removed":
		return t("Removed. Under “Earlier versions” it can be brought back.")
	case "restored":
		return t("That version holds again.")
	case "sent":
		return t("Sent. Look whether it has arrived.")
	}
	return ""
}
