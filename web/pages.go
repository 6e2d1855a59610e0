package web

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"net/http"
	"net/url"

	"plotwarden/garden"
	"plotwarden/web/draw"
	"plotwarden/web/say"
	"plotwarden/web/view"
)

//go:embed templates
var templateFiles embed.FS

// pages are the parsed templates, one set a page: the layout, the partials and
// the page's own.
type pages struct{ byName map[string]*template.Template }

var pageNames = []string{"site", "sites", "why", "weather", "work", "season", "threats", "threat", "error"}

// loadPages parses the embedded templates. It panics on a fault: a test parses
// and runs them all.
func loadPages(a *assets) *pages {
	base := template.New("").Option("missingkey=error").Funcs(template.FuncMap{"asset": a.path, "defs": draw.Defs})
	template.Must(base.ParseFS(templateFiles, "templates/layout.html", "templates/parts/*.html"))
	p := &pages{map[string]*template.Template{}}
	for _, name := range pageNames {
		t := template.Must(template.Must(base.Clone()).ParseFS(templateFiles, "templates/"+name+".html"))
		p.byName[name] = t
	}
	return p
}

// frame is what the layout shows around a page.
type frame struct {
	Title       string
	Site        *view.Link // the site that the page belongs to, for the navigation
	WeatherHref string
	WorkHref    string
	Here        string // which entry of the navigation this page is
	Demo        *DemoNote
	Attribution []string
	Version     string
	Units       view.Link // to the other units
	Body        any
}

// show answers with a page. The page is complete before the first byte goes
// out, so that a fault in a template is a clean 500.
func (s *server) show(w http.ResponseWriter, r *http.Request, status int, name string, f frame) {
	f.Demo, f.Attribution, f.Version = s.Demo, s.Attribution, s.Version
	f.Units = unitsLink(r, s.style(w, r))
	var b bytes.Buffer
	if err := s.pages.byName[name].ExecuteTemplate(&b, "layout", f); err != nil {
		s.fail(w, r, fmt.Errorf("render page %s: %w", name, err))
		return
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Cache-Control", "private, no-cache")
	h.Set("Vary", "Cookie")
	h.Set("Content-Length", fmt.Sprint(b.Len()))
	w.WriteHeader(status)
	if r.Method != http.MethodHead {
		_, _ = w.Write(b.Bytes())
	}
}

// style returns how the reader wants numbers. units=us or units=metric in the
// address is kept in a cookie, so that it holds on the next page.
func (s *server) style(w http.ResponseWriter, r *http.Request) say.Style {
	var u garden.Units
	if q := r.URL.Query().Get("units"); q != "" && u.UnmarshalText([]byte(q)) == nil {
		if w.Header().Get("Set-Cookie") == "" {
			http.SetCookie(w, &http.Cookie{Name: "units", Value: string(u), Path: "/", MaxAge: int(cookieAge.Seconds()),
				HttpOnly: true, Secure: r.TLS != nil, SameSite: http.SameSiteLaxMode})
		}
		return say.StyleOf(u)
	}
	if c, err := r.Cookie("units"); err == nil && u.UnmarshalText([]byte(c.Value)) == nil {
		return say.StyleOf(u)
	}
	return say.Style{}
}

// unitsLink leads to the same page in the other units.
func unitsLink(r *http.Request, now say.Style) view.Link {
	q := url.Values{}
	for _, keep := range []string{"days", "model", "page", "planting", "material", "year"} {
		if v := r.URL.Query().Get(keep); v != "" {
			q.Set(keep, v)
		}
	}
	l := view.Link{Text: "Show °F, inches, mph"}
	q.Set("units", string(garden.US))
	if now.US {
		l.Text = "Show °C, mm, km/h"
		q.Set("units", string(garden.Metric))
	}
	l.Href = "?" + q.Encode()
	return l
}
