package web

import (
	"plotwarden/web/page"

	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/web/view"
)

// sitesPerPage bounds how many rounds the list of sites reads for one page.
const sitesPerPage = 50

// home shows the only site, or the list of several.
func (s *server) home(w http.ResponseWriter, r *http.Request) {
	g := s.garden()
	switch sites := access.From(r.Context()).Sites(g); len(sites) {
	case 0:
		if access.From(r.Context()).Manage() { // an empty installation begins with set-up
			http.Redirect(w, r, "/setup", http.StatusSeeOther)
			return
		}
		f := page.Fault{Title: "No ground yet", Text: "There is no site that you may see. Add one, and its beds show here."}
		s.Kit.Say(w, r, http.StatusOK, f)
	case 1:
		s.showSite(w, r, g, sites[0])
	default:
		s.showSites(w, r, g, sites)
	}
}

func (s *server) site(w http.ResponseWriter, r *http.Request) {
	if g, site, ok := s.find(w, r); ok {
		s.showSite(w, r, g, site)
	}
}

// find returns the site that the address names, or answers that there is none. A
// site that the reader may not see is not told from one that is not there.
func (s *server) find(w http.ResponseWriter, r *http.Request) (*garden.Garden, *garden.Site, bool) {
	g := s.garden()
	id := r.PathValue("site")
	for i := range g.Sites {
		if g.Sites[i].ID == id && access.From(r.Context()).See(id) {
			return g, &g.Sites[i], true
		}
	}
	s.Kit.NotFound(w, r, "There is no ground of that name here.")
	return nil, nil, false
}

// in gathers what the pages of a site are built from.
func (s *server) in(w http.ResponseWriter, r *http.Request, g *garden.Garden, site *garden.Site) (*view.In, error) {
	in := &view.In{Garden: g, Site: site, Catalogue: s.catalogueOf(r.Context(), site.ID), Now: s.Now(), Style: s.Kit.Style(w, r), Days: 14, MaxAge: s.MaxAge}
	if r.URL.Query().Get("days") == "28" {
		in.Days = 28
	}
	round, err := s.round(r.Context(), site.ID)
	in.Round = round
	return in, err
}

// round returns the newest round, nil when none has run.
func (s *server) round(ctx context.Context, site string) (*store.Round, error) {
	round, err := s.Data.LatestRound(ctx, site)
	switch {
	case errors.Is(err, store.ErrNotFound):
		return nil, nil
	case err != nil:
		return nil, fmt.Errorf("read the latest round of %s: %w", site, err)
	}
	return &round, nil
}

func (s *server) showSite(w http.ResponseWriter, r *http.Request, g *garden.Garden, site *garden.Site) {
	in, err := s.in(w, r, g, site)
	if err != nil {
		s.Kit.Fail(w, r, err)
		return
	}
	s.pages.Show(w, r, http.StatusOK, "site", siteFrame(site, site.Name, "beds", view.Site(in)))
}

// siteFrame is the frame of a page that belongs to a site.
func siteFrame(site *garden.Site, title, here string, body any) page.Frame {
	return page.Frame{Title: title, Site: site, Here: here, Body: body}
}

// sitesPage is the list of several sites.
type sitesPage struct {
	Sites      []view.SiteLine
	Prev, Next string // addresses; empty at the ends
	Page, Of   int
}

func (s *server) showSites(w http.ResponseWriter, r *http.Request, g *garden.Garden, sites []*garden.Site) {
	last := (len(sites) + sitesPerPage - 1) / sitesPerPage
	n, err := strconv.Atoi(r.URL.Query().Get("page"))
	if err != nil || n < 1 {
		n = 1
	}
	n = min(n, last)
	p := sitesPage{Page: n, Of: last}
	if n > 1 {
		p.Prev = fmt.Sprintf("/?page=%d", n-1)
	}
	if n < last {
		p.Next = fmt.Sprintf("/?page=%d", n+1)
	}
	for i := (n - 1) * sitesPerPage; i < min(n*sitesPerPage, len(sites)); i++ {
		in, err := s.in(w, r, g, sites[i])
		if err != nil {
			s.Kit.Fail(w, r, err)
			return
		}
		p.Sites = append(p.Sites, view.Line(in))
	}
	s.pages.Show(w, r, http.StatusOK, "sites", page.Frame{Title: "Grounds", Here: "beds", Body: p})
}

// catalogueOf returns the catalogue by which a site is judged.
func (s *server) catalogueOf(ctx context.Context, site string) view.Catalogue {
	if s.SiteCatalogue != nil {
		if c := s.SiteCatalogue(ctx, site); c != nil {
			return c
		}
	}
	return s.Catalogue
}
