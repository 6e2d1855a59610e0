package account

import (
	"fmt"
	"net/http"
	"time"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/web/page"
)

// shareBody is the page on which a site is shared.
type shareBody struct {
	Site   string // id
	Name   string
	Done   string
	Links  []grantLine
	Fields []page.Field
	Faults []page.Field
}

func shareFields(t func(string, ...any) string) []page.Field {
	return []page.Field{
		{Name: "name", Label: t("Whom the link is for"), Hint: t("As you will know it again: the school, the club's page."), Required: true, Max: nameMax},
		{Name: "days", Label: t("How long it holds"), Type: "select", Choices: days(t, 30)},
	}
}

// shared returns the site that the address names when whoever asks may share it:
// whoever may log on it.
func (a *Accounts) shared(w http.ResponseWriter, r *http.Request) (*garden.Site, bool) {
	who, id := access.From(r.Context()), r.PathValue("site")
	if g := a.Garden(); g != nil && who.See(id) {
		for i := range g.Sites {
			if g.Sites[i].ID != id {
				continue
			}
			if !who.Log(id) {
				a.Kit.Refuse(w, r, "With this access you may read this ground, and not share it.")
				return nil, false
			}
			return &g.Sites[i], true
		}
	}
	a.Kit.NotFound(w, r, "There is no ground of that name here.")
	return nil, false
}

func (a *Accounts) sharePage(w http.ResponseWriter, r *http.Request) {
	if site, ok := a.shared(w, r); ok {
		a.showShare(w, r, http.StatusOK, site, shareFields(a.Kit.T(r)))
	}
}

func (a *Accounts) showShare(w http.ResponseWriter, r *http.Request, status int, site *garden.Site, fields []page.Field) {
	list, err := a.shares(r, site.ID)
	if err != nil {
		a.Kit.Fail(w, r, err)
		return
	}
	t := a.Kit.T(r)
	body := shareBody{Site: site.ID, Name: site.Name, Done: say(t, done[r.URL.Query().Get("done")]), Fields: fields, Faults: page.Faults(fields...)}
	for _, g := range list {
		body.Links = append(body.Links, grantLine{ID: g.ID, Name: g.Name, About: t("by %s", a.nameOf(g.Person)) + ", " + about(t, g)})
	}
	w.Header().Set("Cache-Control", "no-store")
	a.pages.Show(w, r, status, "share", page.Frame{Title: t("Share %s", site.Name), Site: site, Here: "share", Body: body})
}

// shares are the links to a site that hold: one's own, and all for whoever may
// change the site.
func (a *Accounts) shares(r *http.Request, site string) ([]store.Grant, error) {
	who := access.From(r.Context())
	list, err := a.Store.Grants(r.Context(), store.ShareGrant, "", site)
	var out []store.Grant
	for _, g := range list {
		if holds(g, a.Now()) && (g.Person == who.Person || who.Change(site, "")) {
			out = append(out, g)
		}
	}
	return out, err
}

func (a *Accounts) makeShare(w http.ResponseWriter, r *http.Request) {
	site, ok := a.shared(w, r)
	if !ok {
		return
	}
	t := a.Kit.T(r)
	name, nameFault := readName(r)
	n, daysFault := readDays(r)
	if nameFault != "" || daysFault != "" {
		fields := shareFields(t)
		fields[0].Value, fields[0].Fault, fields[1].Fault = name, say(t, nameFault), say(t, daysFault)
		a.showShare(w, r, http.StatusUnprocessableEntity, site, fields)
		return
	}
	secret, now := newSecret(), a.Now()
	err := a.Store.AddGrant(r.Context(), store.Grant{
		Hash: hashOf(secret), ID: newID(), Kind: store.ShareGrant, Person: access.From(r.Context()).Person, Site: site.ID, Name: name, Created: now, Expires: now.AddDate(0, 0, n),
	})
	if err != nil {
		a.Kit.Fail(w, r, fmt.Errorf("share %s: %w", site.ID, err))
		return
	}
	a.Kit.Audit(r, "shared-site", site.ID, fmt.Sprintf("%s, %d days", name, n))
	a.showLink(w, r, linkBody{
		Title: t("A link to %s", site.Name), Text: t("Whoever has this link reads the pages of this ground, and changes nothing. Finds that growers did not share stay hidden. Copy it now: it is shown this once."),
		Secret: a.link(r, "/share/"+secret), Until: now.AddDate(0, 0, n).UTC().Format(time.DateOnly), Back: "/site/" + site.ID + "/share", BackText: t("To the links of this ground"),
	}, "share")
}

func (a *Accounts) endShare(w http.ResponseWriter, r *http.Request) {
	site, ok := a.shared(w, r)
	if !ok {
		return
	}
	list, err := a.shares(r, site.ID)
	for _, g := range list {
		if g.ID == r.PathValue("id") {
			if err = a.end(r.Context(), g); err != nil {
				break
			}
			a.Kit.Audit(r, "ended-share", site.ID, g.Name)
			http.Redirect(w, r, "/site/"+site.ID+"/share?done=share", http.StatusSeeOther)
			return
		}
	}
	if err != nil {
		a.Kit.Fail(w, r, err)
		return
	}
	a.Kit.NotFound(w, r, "There is no such link.")
}

// followShare takes a shared link into a cookie, so that the pages' own addresses
// do not hold the secret.
func (a *Accounts) followShare(w http.ResponseWriter, r *http.Request) {
	secret := r.PathValue("secret")
	g, ok, err := a.open(r.Context(), store.ShareGrant, secret, 0)
	switch {
	case err != nil:
		a.Kit.Fail(w, r, err)
		return
	case !ok:
		a.Kit.NotFound(w, r, "This link does not hold any more. Ask whoever gave it to you for a new one.")
		return
	}
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("Referrer-Policy", "no-referrer")
	a.setCookie(w, r, shareCookie, secret, max(g.Expires.Sub(a.Now()), time.Minute))
	http.Redirect(w, r, "/site/"+g.Site, http.StatusSeeOther)
}
