package account

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"time"

	"plotwarden/access"
	"plotwarden/store"
	"plotwarden/web/page"
)

// listBody is the page of all accounts.
type listBody struct {
	Done     string
	Fault    string
	Accounts []accountLine
	Invites  []grantLine
	Invite   []page.Field
	Faults   []page.Field
	Sites    []page.Choice
}

type accountLine struct {
	Person, Name, Login string
	Roles               []page.Choice
	Role, Since         string
	Closed, Self        bool
}

func (a *Accounts) list(w http.ResponseWriter, r *http.Request) {
	if a.manages(w, r) {
		a.showList(w, r, http.StatusOK, listBody{Done: say(a.Kit.T(r), done[r.URL.Query().Get("done")])}, inviteFields(a.Kit.T(r)))
	}
}

func (a *Accounts) showList(w http.ResponseWriter, r *http.Request, status int, body listBody, fields []page.Field) {
	t, who := a.Kit.T(r), access.From(r.Context())
	accounts, err := a.Store.Accounts(r.Context())
	invites, err2 := a.lines(r, store.InviteGrant, "", "")
	if err := errors.Join(err, err2); err != nil {
		a.Kit.Fail(w, r, err)
		return
	}
	for _, acc := range accounts {
		l := accountLine{
			Person: acc.Person, Name: a.nameOf(acc.Person), Login: acc.Login, Role: t(acc.Role), Since: acc.Created.UTC().Format(time.DateOnly),
			Closed: !acc.Closed.IsZero(), Self: acc.Person == who.Person,
		}
		for _, role := range access.Roles() {
			l.Roles = append(l.Roles, page.Choice{Value: string(role), Text: t(string(role)), Chosen: string(role) == acc.Role})
		}
		body.Accounts = append(body.Accounts, l)
	}
	slices.SortStableFunc(body.Accounts, func(x, y accountLine) int { return cmp.Compare(x.Name, y.Name) })
	body.Invites, body.Invite, body.Faults = invites, a.withPeople(t, fields, accounts), page.Faults(fields...)
	if g := a.Garden(); g != nil {
		for i := range g.Sites {
			body.Sites = append(body.Sites, page.Choice{Value: g.Sites[i].ID, Text: g.Sites[i].Name, Chosen: slices.Contains(r.PostForm["sites"], g.Sites[i].ID)})
		}
	}
	w.Header().Set("Cache-Control", "no-store")
	a.pages.Show(w, r, status, "accounts", page.Frame{Title: t("Accounts"), Here: "accounts", Body: body})
}

// withPeople offers the people of the ground who have no account.
func (a *Accounts) withPeople(t func(string, ...any) string, fields []page.Field, accounts []store.Account) []page.Field {
	has := map[string]bool{}
	for _, acc := range accounts {
		has[acc.Person] = true
	}
	choices := []page.Choice{{Text: t("Somebody new")}}
	if g := a.Garden(); g != nil {
		for i := range g.People {
			if p := &g.People[i]; !has[p.ID] {
				choices = append(choices, page.Choice{Value: p.ID, Text: cmp.Or(p.Name, p.ID), Chosen: p.ID == fields[0].Value})
			}
		}
	}
	fields[0].Choices = choices
	return fields
}

// change loads the account that the address names, changes it and keeps it. The
// last owner stays one: change refuses what would leave nobody.
func (a *Accounts) change(w http.ResponseWriter, r *http.Request, edit func(*store.Account)) (store.Account, bool) {
	if !a.manages(w, r) {
		return store.Account{}, false
	}
	acc, err := a.Store.Account(r.Context(), r.PathValue("person"))
	if notFound(err) {
		a.Kit.NotFound(w, r, "There is no account of that person.")
		return acc, false
	}
	var others int
	if err == nil {
		others, err = a.otherOwners(r.Context(), acc.Person)
	}
	if err == nil {
		edit(&acc)
		if others == 0 && (acc.Role != string(access.Owner) || !acc.Closed.IsZero()) {
			a.showList(w, r, http.StatusConflict, listBody{Fault: a.Kit.T(r)("There must be an owner. Make somebody else one first.")}, inviteFields(a.Kit.T(r)))
			return acc, false
		}
		acc, err = a.Store.PutAccount(r.Context(), acc)
	}
	if errors.Is(err, store.ErrConflict) {
		a.showList(w, r, http.StatusConflict, listBody{Fault: a.Kit.T(r)("Somebody else changed this account at the same moment. Look at it and try again.")}, inviteFields(a.Kit.T(r)))
		return acc, false
	}
	if err != nil {
		a.Kit.Fail(w, r, err)
	}
	return acc, err == nil
}

// otherOwners counts the open owners beside one person.
func (a *Accounts) otherOwners(ctx context.Context, person string) (int, error) {
	list, err := a.Store.Accounts(ctx)
	n := 0
	for _, acc := range list {
		if acc.Person != person && acc.Role == string(access.Owner) && acc.Closed.IsZero() {
			n++
		}
	}
	return n, err
}

func (a *Accounts) changeRole(w http.ResponseWriter, r *http.Request) {
	if !a.manages(w, r) {
		return
	}
	var role access.Role
	if err := role.UnmarshalText([]byte(r.PostFormValue("role"))); err != nil {
		a.Kit.Say(w, r, http.StatusUnprocessableEntity, page.Fault{Title: "No such role", Text: "The role " + err.Error() + "."})
		return
	}
	was := ""
	if acc, ok := a.change(w, r, func(x *store.Account) { was, x.Role = x.Role, string(role) }); ok {
		if role != access.Owner {
			if err := a.endInvitesOf(r.Context(), acc.Person); err != nil {
				a.Kit.Fail(w, r, err)
				return
			}
		}
		a.Kit.Audit(r, "changed-role", acc.Person, was+" to "+acc.Role)
		http.Redirect(w, r, "/accounts?done=role", http.StatusSeeOther)
	}
}

func (a *Accounts) closeAccount(w http.ResponseWriter, r *http.Request) {
	acc, ok := a.change(w, r, func(x *store.Account) { x.Closed = a.Now() })
	if !ok {
		return
	}
	var errs []error
	for _, kind := range []string{store.SessionGrant, store.TokenGrant, store.ShareGrant, store.InviteGrant} {
		errs = append(errs, a.endAll(r.Context(), kind, acc.Person, ""))
	}
	errs = append(errs, a.endInvitesOf(r.Context(), acc.Person))
	if err := errors.Join(errs...); err != nil {
		a.Kit.Fail(w, r, err)
		return
	}
	a.Kit.Audit(r, "closed-account", acc.Person, "")
	http.Redirect(w, r, "/accounts?done=closed", http.StatusSeeOther)
}

func (a *Accounts) openAccount(w http.ResponseWriter, r *http.Request) {
	if acc, ok := a.change(w, r, func(x *store.Account) { x.Closed = time.Time{} }); ok {
		a.Kit.Audit(r, "opened-account", acc.Person, "")
		http.Redirect(w, r, "/accounts?done=opened", http.StatusSeeOther)
	}
}

// endInvitesOf ends the links that somebody handed out, who may not any more: one of
// them could make an owner.
func (a *Accounts) endInvitesOf(ctx context.Context, person string) error {
	list, err := a.Store.Grants(ctx, store.InviteGrant, "", "")
	for _, g := range list {
		var body inviteBody
		if err == nil {
			err = json.Unmarshal(g.Body, &body)
		}
		if err == nil && body.By == person {
			err = a.end(ctx, g)
		}
	}
	return err
}

// resetLife is how long a link holds that sets a new password.
const resetLife = 24 * time.Hour

func (a *Accounts) makeReset(w http.ResponseWriter, r *http.Request) {
	if !a.manages(w, r) {
		return
	}
	acc, err := a.Store.Account(r.Context(), r.PathValue("person"))
	if notFound(err) || err == nil && !acc.Closed.IsZero() {
		a.Kit.NotFound(w, r, "There is no open account of that person.")
		return
	}
	if err != nil {
		a.Kit.Fail(w, r, err)
		return
	}
	t := a.Kit.T(r)
	a.handOut(w, r, acc.Person, inviteBody{Name: a.nameOf(acc.Person), Role: acc.Role, Reset: true}, resetLife, "made-reset", linkBody{
		Title: t("A link for a new password"), Text: t("Give this link to %s and to nobody else. It works once. The password until now holds until it is used.", a.nameOf(acc.Person)),
	})
}

// handOut makes a link by which somebody makes their account, or sets a new
// password, and shows it.
func (a *Accounts) handOut(w http.ResponseWriter, r *http.Request, person string, body inviteBody, life time.Duration, did string, show linkBody) {
	body.By = access.From(r.Context()).Person
	secret, now := newSecret(), a.Now()
	raw, err := json.Marshal(body)
	if err == nil {
		err = a.Store.AddGrant(r.Context(), store.Grant{
			Hash: hashOf(secret), ID: newID(), Kind: store.InviteGrant, Person: person, Name: body.Name, Body: raw, Created: now, Expires: now.Add(life),
		})
	}
	if err != nil {
		a.Kit.Fail(w, r, fmt.Errorf("make a link: %w", err))
		return
	}
	a.Kit.Audit(r, did, cmp.Or(person, body.Name), body.Role)
	show.Secret, show.Until = a.link(r, "/invite/"+secret), now.Add(life).UTC().Format("2006-01-02 15:04 UTC")
	show.Back, show.BackText = "/accounts", a.Kit.T(r)("To the accounts")
	a.showLink(w, r, show, "accounts")
}
