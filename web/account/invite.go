package account

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"plotwarden/access"
	"plotwarden/store"
	"plotwarden/web/page"
)

// inviteLife is how long an invitation holds.
const inviteLife = 7 * 24 * time.Hour

// inviteBody is what an invitation gives. The person is that of its grant; empty is
// somebody new.
type inviteBody struct {
	Name  string   `json:"name"`
	Role  string   `json:"role"`
	Sites []string `json:"sites,omitempty"`
	By    string   `json:"by"`
	Reset bool     `json:"reset,omitempty"`
}

func inviteFields(t func(string, ...any) string) []page.Field {
	var roles []page.Choice
	for _, role := range access.Roles() {
		roles = append(roles, page.Choice{Value: string(role), Text: t(string(role)), Chosen: role == access.Grower})
	}
	return []page.Field{
		{Name: "person", Label: t("For whom"), Type: "select", Hint: t("Somebody who is on the ground already, or somebody new.")},
		{Name: "name", Label: t("Name of somebody new"), Max: nameMax},
		{Name: "role", Label: t("Role"), Type: "select", Choices: roles, Hint: t("An owner may do everything. A volunteer looks after the grounds of their regions. A grower logs, and changes the own beds. A reader reads.")},
	}
}

func (a *Accounts) makeInvite(w http.ResponseWriter, r *http.Request) {
	if !a.manages(w, r) {
		return
	}
	t := a.Kit.T(r)
	fields := inviteFields(t)
	person := r.PostFormValue("person")
	body := inviteBody{Name: strings.Join(strings.Fields(r.PostFormValue("name")), " "), Sites: r.PostForm["sites"]}
	fields[0].Value, fields[1].Value = person, body.Name
	if person != "" {
		body.Sites = nil // theirs are in the ground
		if a.person(person) == nil {
			fields[0].Fault = t("There is no such person on the ground.")
		} else if _, err := a.Store.Account(r.Context(), person); err == nil {
			fields[0].Fault = t("This person has an account already.")
		} else if !notFound(err) {
			a.Kit.Fail(w, r, err)
			return
		}
		body.Name = a.nameOf(person)
	} else if n := utf8.RuneCountInString(body.Name); n == 0 || n > nameMax || !utf8.ValidString(body.Name) {
		fields[1].Fault = t("Write the name of the new person: 80 characters at most.")
	}
	var role access.Role
	if err := role.UnmarshalText([]byte(r.PostFormValue("role"))); err != nil {
		fields[2].Fault = t("Choose one of the roles.")
	}
	body.Role = string(role)
	if !a.sitesExist(body.Sites) {
		a.Kit.Say(w, r, http.StatusUnprocessableEntity, page.Fault{Title: "No such ground", Text: "One of the grounds is not there. Load the page again and choose anew."})
		return
	}
	if len(page.Faults(fields...)) > 0 {
		a.showList(w, r, http.StatusUnprocessableEntity, listBody{}, fields)
		return
	}
	a.handOut(w, r, person, body, inviteLife, "made-invite", linkBody{
		Title: t("An invitation for %s", body.Name),
		Text:  t("Give this link to %s. It works once. Whoever opens it first makes the account, so send it to nobody else.", body.Name),
	})
}

func (a *Accounts) sitesExist(ids []string) bool {
	g := a.Garden()
	for _, id := range ids {
		found := false
		for i := range g.Sites {
			found = found || g.Sites[i].ID == id
		}
		if !found {
			return false
		}
	}
	return true
}

func (a *Accounts) endInvite(w http.ResponseWriter, r *http.Request) {
	if !a.manages(w, r) {
		return
	}
	list, err := a.Store.Grants(r.Context(), store.InviteGrant, "", "")
	at := slices.IndexFunc(list, func(g store.Grant) bool { return g.ID == r.PathValue("id") })
	if err == nil && at < 0 {
		a.Kit.NotFound(w, r, "There is no such invitation.")
		return
	}
	if err == nil {
		err = a.end(r.Context(), list[at])
	}
	if err != nil {
		a.Kit.Fail(w, r, err)
		return
	}
	a.Kit.Audit(r, "ended-invite", list[at].Name, "")
	http.Redirect(w, r, "/accounts?done=invite", http.StatusSeeOther)
}

// invited returns the invitation of a link that holds, or answers that it does not.
func (a *Accounts) invited(w http.ResponseWriter, r *http.Request) (g store.Grant, body inviteBody, ok bool) {
	if wait := a.tries.take(a.Now(), limit{"invite " + addressKey(page.Address(r.Context())), freeByAddress}); wait > 0 {
		w.Header().Set("Retry-After", fmt.Sprint(int(wait.Seconds())+1))
		a.Kit.Say(w, r, http.StatusTooManyRequests, page.Fault{Title: "Too many tries", Text: "Wait a few minutes, then open the link again."})
		return g, body, false
	}
	g, err := a.Store.Grant(r.Context(), hashOf(r.PathValue("secret")))
	switch {
	case notFound(err) || err == nil && (g.Kind != store.InviteGrant || !holds(g, a.Now())):
		a.Kit.NotFound(w, r, "This link does not hold any more: it was used, it was withdrawn, or it is too old. Ask for a new one.")
		return g, body, false
	case err == nil:
		err = json.Unmarshal(g.Body, &body)
	}
	if err != nil {
		a.Kit.Fail(w, r, fmt.Errorf("read an invitation: %w", err))
		return g, body, false
	}
	a.tries.back("invite " + addressKey(page.Address(r.Context())))
	return g, body, true
}

func (b *inviteBody) form(x *typed, t func(string, ...any) string) []page.Field {
	if b.Reset {
		return x.fields(t, "password", "again")
	}
	return x.fields(t, "name", "login", "password", "again")
}

func (a *Accounts) invitePage(w http.ResponseWriter, r *http.Request) {
	if g, body, ok := a.invited(w, r); ok {
		x := typed{name: body.Name}
		a.showInvite(w, r, http.StatusOK, g, body, body.form(&x, a.Kit.T(r)))
	}
}

func (a *Accounts) showInvite(w http.ResponseWriter, r *http.Request, status int, g store.Grant, body inviteBody, fields []page.Field) {
	t := a.Kit.T(r)
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("Referrer-Policy", "no-referrer") // the address is the secret
	title := t("Make your account")
	if body.Reset {
		title = t("Set a new password")
	}
	a.pages.Show(w, r, status, "invite", page.Frame{Title: title, Here: "sign-in", Body: newAccount{
		Fields: fields, Faults: page.Faults(fields...), To: "/invite/" + r.PathValue("secret"), Reset: body.Reset, Name: body.Name, Role: t(body.Role),
		Until: g.Expires.UTC().Format("2006-01-02 15:04 UTC"),
	}})
}

func (a *Accounts) acceptInvite(w http.ResponseWriter, r *http.Request) {
	if !a.Kit.ReadForm(w, r) {
		return
	}
	g, body, ok := a.invited(w, r)
	if !ok {
		return
	}
	t, x := a.Kit.T(r), typedIn(r)
	if body.Reset {
		x.name = body.Name
	}
	fields := body.form(&x, t)
	if !x.check(t, fields) {
		a.showInvite(w, r, http.StatusUnprocessableEntity, g, body, fields)
		return
	}
	if body.Reset {
		a.reset(w, r, g, x)
		return
	}
	_, err := a.Store.AccountByLogin(r.Context(), x.login)
	if err == nil {
		fields[1].Fault = t("Somebody has this sign-in name. Take another.")
		a.showInvite(w, r, http.StatusUnprocessableEntity, g, body, fields)
		return
	}
	if !notFound(err) {
		a.Kit.Fail(w, r, err)
		return
	}
	// The link is used up before the account is made, so that of two who open it
	// at once one makes an account.
	switch err := a.Store.EndGrant(r.Context(), g.ID, a.Now()); {
	case taken(err):
		a.Kit.NotFound(w, r, "This link was used a moment ago. Ask for a new one.")
		return
	case err != nil:
		a.Kit.Fail(w, r, err)
		return
	}
	person, err := a.admitPerson(r.Context(), g.Person, x, body.Role, body.Sites)
	switch {
	case taken(err) || errors.Is(err, store.ErrConflict):
		a.Kit.Say(w, r, http.StatusConflict, page.Fault{Title: "The account was not made", Text: "The sign-in name or the person got an account at the same moment. Ask for a new link."})
		return
	case err != nil:
		a.Kit.Fail(w, r, fmt.Errorf("make an account: %w", err))
		return
	}
	a.any.Store(true)
	a.audit(r, person, "made-account", person, body.Role+", invited by "+body.By)
	a.finish(w, r, person, "invitation", "/")
}

// reset sets a new password and ends whatever was open.
func (a *Accounts) reset(w http.ResponseWriter, r *http.Request, g store.Grant, x typed) {
	hashed, err := a.passwords.hash(r.Context(), x.password)
	if err == nil {
		if err = a.Store.EndGrant(r.Context(), g.ID, a.Now()); taken(err) {
			a.Kit.NotFound(w, r, "This link was used a moment ago. Ask for a new one.")
			return
		}
	}
	var acc store.Account
	if err == nil {
		acc, err = a.Store.Account(r.Context(), g.Person)
	}
	if err == nil && !acc.Closed.IsZero() {
		a.Kit.NotFound(w, r, "This account is closed. Ask an owner to open it again.")
		return
	}
	if err == nil {
		acc.Password = hashed
		_, err = a.Store.PutAccount(r.Context(), acc)
	}
	if err == nil {
		err = a.endAll(r.Context(), store.SessionGrant, acc.Person, "")
	}
	if err != nil {
		a.Kit.Fail(w, r, fmt.Errorf("set a new password: %w", err))
		return
	}
	a.tries.pass("login " + acc.Login)
	a.audit(r, acc.Person, "reset-password", acc.Person, "")
	a.finish(w, r, acc.Person, "reset link", "/")
}
