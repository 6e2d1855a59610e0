package account

import (
	"context"
	"net/http"
	"strconv"
	"time"
	"unicode/utf8"

	"plotwarden/access"
	"plotwarden/store"
	"plotwarden/web/page"
)

// Auditor keeps entries in a store.
type Auditor struct {
	Store Store
	Clock func() time.Time
}

// detailMax bounds what one entry says: people write some of it, characters.
const detailMax = 500

// Audit keeps one entry.
func (x Auditor) Audit(ctx context.Context, did, on, detail string) error {
	return x.Store.AddAudit(ctx, store.Audit{
		At: x.Clock(), Person: access.From(ctx).Person, From: page.Address(ctx), Did: did, On: short(on), Detail: short(detail),
	})
}

func short(s string) string {
	if utf8.RuneCountInString(s) <= detailMax {
		return s
	}
	return string([]rune(s)[:detailMax]) + "…"
}

// audit keeps an entry of somebody who is signed in by this very request.
func (a *Accounts) audit(r *http.Request, person, did, on, detail string) {
	who := access.From(r.Context())
	who.Person = person
	a.Kit.Audit(r.WithContext(access.With(r.Context(), who)), did, on, detail)
}

// auditsPerPage is how many entries one page shows.
const auditsPerPage = 50

type auditBody struct {
	Entries []auditLine
	Older   string // address; empty at the end
	Newest  string // address; empty on the first page
}

type auditLine struct {
	At, Who, From, Did, On, Detail string
}

func (a *Accounts) auditPage(w http.ResponseWriter, r *http.Request) {
	if !a.manages(w, r) {
		return
	}
	before, _ := strconv.ParseInt(r.URL.Query().Get("before"), 10, 64)
	list, err := a.Store.Audits(r.Context(), max(before, 0), auditsPerPage+1)
	if err != nil {
		a.Kit.Fail(w, r, err)
		return
	}
	var body auditBody
	if before > 0 {
		body.Newest = "/audit"
	}
	if len(list) > auditsPerPage {
		list = list[:auditsPerPage]
		body.Older = "/audit?before=" + strconv.FormatInt(list[auditsPerPage-1].ID, 10)
	}
	for _, e := range list {
		body.Entries = append(body.Entries, auditLine{
			At: e.At.UTC().Format("2006-01-02 15:04:05"), Who: a.nameOf(e.Person), From: e.From, Did: e.Did, On: e.On, Detail: e.Detail,
		})
	}
	a.pages.Show(w, r, http.StatusOK, "audit", page.Frame{Title: a.Kit.T(r)("Who did what"), Here: "accounts", Body: body})
}

// nameOf is how a person is called on the pages.
func (a *Accounts) nameOf(id string) string {
	if p := a.person(id); p != nil && p.Name != "" {
		return p.Name
	}
	return id
}

// manages answers who may not manage accounts, and says whether they may.
func (a *Accounts) manages(w http.ResponseWriter, r *http.Request) bool {
	if access.From(r.Context()).Manage() {
		return true
	}
	a.Kit.Refuse(w, r, "Only an owner of this installation may do that.")
	return false
}
