// Package page is what all pages share: the layout with its navigation, static
// files, error pages, headers, and how the reader wants to read.
package page

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"log/slog"
	"net/http"
	"slices"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/web/draw"
	"plotwarden/web/view"
)

//go:embed templates
var templateFiles embed.FS

// Options is what a Kit is made from.
type Options struct {
	Demo        *DemoNote // nil outside the demonstration
	Attribution []string  // lines at the foot of every page: weather sources and their terms
	// Credits are such lines that can change; they come after Attribution. May be nil.
	Credits func() []string
	Version string
	Log     *slog.Logger // for faults behind a 500; nil is slog.Default
	Audit   Auditor      // nil keeps nothing
}

// DemoNote is shown on every page of the demonstration.
type DemoNote struct {
	Title string   // "Demonstration"
	Lines []string // that garden and dates are invented, where the weather is from
}

// Kit makes pages.
type Kit struct {
	o      Options
	assets *assets
	own    *Set
}

// New returns a kit. It panics on a fault in what is embedded: a test loads it.
func New(o Options) *Kit {
	if o.Log == nil {
		o.Log = slog.Default()
	}
	k := &Kit{o: o, assets: loadAssets()}
	k.own = k.Parse(templateFiles, "templates/", "error")
	return k
}

func (k *Kit) credits() []string {
	if k.o.Credits == nil {
		return k.o.Attribution
	}
	return append(slices.Clip(k.o.Attribution), k.o.Credits()...)
}

// Mount serves the static files. NewMux does it.
func (k *Kit) Mount(mux *Mux) {
	mux.HandleFunc("GET /assets/{file}", k.assets.serve, Public)
	k.mountOffline(mux)
}

// Set is the pages of one package: each the layout, the shared parts and its own
// template, parsed once a language.
type Set struct {
	kit    *Kit
	byName map[string]map[string]*template.Template // language, name
}

// Parse reads a package's templates: the file of each page is dir + name +
// ".html" and defines "body". Beside the layout and the parts it has the
// functions asset (where a static file is served), defs (the patterns of the
// drawings), t (a fixed English text in the reader's language, with the verbs of fmt)
// check (the hidden field that every form which posts must hold) and faults (the
// fields with something wrong).
// It panics on a fault: a test parses and runs them all.
func (k *Kit) Parse(files fs.FS, dir string, names ...string) *Set {
	s := &Set{kit: k, byName: map[string]map[string]*template.Template{}}
	for _, language := range Languages() {
		base := template.New("").Option("missingkey=error").Funcs(template.FuncMap{
			"asset": k.assets.path, "defs": draw.Defs, "t": translator(language), "check": check, "faults": Faults,
		})
		template.Must(base.ParseFS(templateFiles, "templates/layout.html", "templates/parts/*.html"))
		s.byName[language] = map[string]*template.Template{}
		for _, name := range names {
			s.byName[language][name] = template.Must(template.Must(base.Clone()).ParseFS(files, dir+name+".html"))
		}
	}
	return s
}

// Frame is what a page gives the layout.
type Frame struct {
	Title string
	Site  *garden.Site // the site that the page belongs to, for the navigation; may be nil
	Here  string       // key of the entry of the navigation that this page is
	// Scripts are names of static files that run as modules.
	Scripts []string
	Body    any
}

// shell is what the layout shows around a page.
type shell struct {
	Frame
	Language    string
	Nav         []Entry
	Who         access.Who
	Demo        *DemoNote
	Attribution []string
	Version     string
	Units       view.Link // to the other units
}

// Show answers with a page. The page is complete before the first byte goes
// out, so that a fault in a template is a clean 500.
func (s *Set) Show(w http.ResponseWriter, r *http.Request, status int, name string, f Frame) {
	k := s.kit
	who := access.From(r.Context())
	language := k.Language(r)
	var b bytes.Buffer
	err := s.execute(&b, language, name, shell{
		Frame: f, Language: language, Nav: nav(f.Site, f.Here, who, language), Who: who,
		Demo: k.o.Demo, Attribution: k.credits(), Version: k.o.Version, Units: unitsLink(r, k.Style(w, r)),
	})
	if err != nil {
		k.Fail(w, r, err)
		return
	}
	body := fillCheck(b.Bytes(), who)
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	if h.Get("Cache-Control") == "" {
		h.Set("Cache-Control", "private, no-cache")
	}
	h.Set("Vary", "Cookie")
	h.Set("Content-Length", fmt.Sprint(len(body)))
	w.WriteHeader(status)
	if r.Method != http.MethodHead {
		_, _ = w.Write(body)
	}
}

func (s *Set) execute(w io.Writer, language, name string, x shell) error {
	t := s.byName[language][name]
	if t == nil {
		return fmt.Errorf("there is no page %s in %s", name, language)
	}
	if err := t.ExecuteTemplate(w, "layout", x); err != nil {
		return fmt.Errorf("render page %s: %w", name, err)
	}
	return nil
}
