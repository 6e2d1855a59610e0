package account

import (
	"errors"
	"fmt"
	"net/http"
	"time"

	"plotwarden/access"
	"plotwarden/store"
	"plotwarden/web/page"
)

// ownBody is the page of one's own account.
type ownBody struct {
	Name, Login, Role string
	Done              string // what was just done
	HasPassword       bool
	Password          []page.Field
	Faults            []page.Field
	Sessions          []grantLine
	Passkeys          []grantLine
	CanPasskey        bool
	Tokens            []grantLine
	Token             []page.Field
	Manage            bool
	Days              []page.Choice
}

// grantLine is one thing that can be ended.
type grantLine struct {
	ID, Name, About string
	Here            bool // the one in use
}

// mine returns the account of whoever is signed in, or answers that there is none.
func (a *Accounts) mine(w http.ResponseWriter, r *http.Request) (who access.Who, acc store.Account, ok bool) {
	who = access.From(r.Context())
	if who.Via != access.BySession {
		a.Kit.NotFound(w, r, "Nobody is signed in here, so there is no account to show.")
		return who, acc, false
	}
	acc, err := a.Store.Account(r.Context(), who.Person)
	if err != nil {
		a.Kit.Fail(w, r, err)
	}
	return who, acc, err == nil
}

// done are the things of which the page says that they were done.
var done = map[string]string{
	"password": "Your password is changed. Your other browsers are signed out.",
	"session":  "That browser is signed out.",
	"passkey":  "The passkey is removed.",
	"added":    "The passkey is added.",
	"token":    "The token is ended.",
	"role":     "The role is changed.",
	"closed":   "The account is closed, and signed out everywhere.",
	"opened":   "The account is open again.",
	"invite":   "The invitation is withdrawn.",
	"share":    "The link is ended.",
}

func (a *Accounts) own(w http.ResponseWriter, r *http.Request) {
	if who, acc, ok := a.mine(w, r); ok {
		a.showOwn(w, r, http.StatusOK, who, acc, passwordFields(a.Kit.T(r), acc), tokenFields(a.Kit.T(r)))
	}
}

func (a *Accounts) showOwn(w http.ResponseWriter, r *http.Request, status int, who access.Who, acc store.Account, password, token []page.Field) {
	t := a.Kit.T(r)
	w.Header().Set("Cache-Control", "no-store")
	body := ownBody{
		Name: who.Name, Login: acc.Login, Role: t(acc.Role), Done: say(t, done[r.URL.Query().Get("done")]), HasPassword: acc.Password != "",
		Password: password, Token: token, Faults: append(page.Faults(password...), page.Faults(token...)...),
		CanPasskey: a.relyingParty(r) != nil, Manage: who.Manage(),
	}
	var err, err2 error
	body.Sessions, err = a.lines(r, store.SessionGrant, acc.Person, who.Grant)
	body.Tokens, err2 = a.lines(r, store.TokenGrant, acc.Person, "")
	keys, err3 := passkeysOf(acc)
	if err := errors.Join(err, err2, err3); err != nil {
		a.Kit.Fail(w, r, err)
		return
	}
	for _, k := range keys.Keys {
		body.Passkeys = append(body.Passkeys, grantLine{ID: k.ID, Name: k.Name, About: t("added on %s", k.Created.UTC().Format(time.DateOnly))})
	}
	f := page.Frame{Title: t("Your account"), Here: "account", Body: body}
	if body.CanPasskey {
		f.Scripts = []string{"passkey.js"}
	}
	a.pages.Show(w, r, status, "account", f)
}

// lines are the grants of a kind that somebody has and that hold.
func (a *Accounts) lines(r *http.Request, kind, person, here string) ([]grantLine, error) {
	list, err := a.Store.Grants(r.Context(), kind, person, "")
	if err != nil {
		return nil, err
	}
	t, now := a.Kit.T(r), a.Now()
	var out []grantLine
	for _, g := range list {
		if holds(g, now) && (kind != store.SessionGrant || now.Sub(later(g.Created, g.Seen)) <= idleSession) {
			out = append(out, grantLine{ID: g.ID, Name: g.Name, About: about(t, g), Here: g.ID == here})
		}
	}
	return out, nil
}

func later(x, y time.Time) time.Time {
	if y.After(x) {
		return y
	}
	return x
}

// about says since when a grant holds, when it was used and when it ends.
func about(t func(string, ...any) string, g store.Grant) string {
	day := func(at time.Time) string { return at.UTC().Format(time.DateOnly) }
	text := t("since %s", day(g.Created))
	if g.Seen.IsZero() {
		text += ", " + t("not used yet")
	} else {
		text += ", " + t("last used %s", day(g.Seen))
	}
	if !g.Expires.IsZero() {
		text += ", " + t("until %s", day(g.Expires))
	}
	return text
}

func passwordFields(t func(string, ...any) string, acc store.Account) []page.Field {
	x := typed{}
	fields := x.fields(t, "password", "again")
	fields[0].Label, fields[1].Label = t("New password"), t("The new password again")
	if acc.Password == "" {
		return fields
	}
	now := page.Field{Name: "now", Label: t("Password until now"), Type: "password", Complete: "current-password", Required: true, Max: PasswordMax}
	return append([]page.Field{now}, fields...)
}

func (a *Accounts) changePassword(w http.ResponseWriter, r *http.Request) {
	who, acc, ok := a.mine(w, r)
	if !ok {
		return
	}
	t, x := a.Kit.T(r), typedIn(r)
	x.login, x.name = acc.Login, who.Name
	fields := passwordFields(t, acc)
	fine := x.check(t, fields)
	status := http.StatusUnprocessableEntity
	if acc.Password != "" {
		key := "password " + acc.Person
		if wait := a.tries.take(a.Now(), limit{key, freeByLogin}); wait > 0 {
			w.Header().Set("Retry-After", fmt.Sprint(int(wait.Seconds())+1))
			fields[0].Fault, fine, status = t("Too many tries. Wait %d seconds, then try again.", int(wait.Seconds())+1), false, http.StatusTooManyRequests
		} else if right, _, err := a.passwords.matches(r.Context(), acc.Password, r.PostFormValue("now")); err != nil {
			a.Kit.Fail(w, r, err)
			return
		} else if !right {
			fields[0].Fault, fine = t("This is not your password."), false
		} else {
			a.tries.pass(key)
		}
	}
	if !fine {
		a.showOwn(w, r, status, who, acc, fields, tokenFields(t))
		return
	}
	hashed, err := a.passwords.hash(r.Context(), x.password)
	if err == nil {
		acc.Password = hashed
		_, err = a.Store.PutAccount(r.Context(), acc)
	}
	if err == nil {
		err = a.endAll(r.Context(), store.SessionGrant, acc.Person, "")
	}
	if err == nil { // a new secret for the browser that did it
		err = a.begin(w, r, acc.Person)
	}
	if err != nil {
		a.Kit.Fail(w, r, fmt.Errorf("change the password of %s: %w", acc.Person, err))
		return
	}
	a.Kit.Audit(r, "changed-password", acc.Person, "")
	http.Redirect(w, r, "/account?done=password", http.StatusSeeOther)
}

func (a *Accounts) endSession(w http.ResponseWriter, r *http.Request) {
	a.endOwn(w, r, store.SessionGrant, "ended-session", "session")
}

// endOwn ends one grant of whoever is signed in; of no one else.
func (a *Accounts) endOwn(w http.ResponseWriter, r *http.Request, kind, did, say string) {
	_, acc, ok := a.mine(w, r)
	if !ok {
		return
	}
	list, err := a.Store.Grants(r.Context(), kind, acc.Person, "")
	if err != nil {
		a.Kit.Fail(w, r, err)
		return
	}
	for _, g := range list {
		if g.ID != r.PathValue("id") {
			continue
		}
		if err := a.end(r.Context(), g); err != nil {
			a.Kit.Fail(w, r, err)
			return
		}
		a.Kit.Audit(r, did, g.ID, g.Name)
		http.Redirect(w, r, "/account?done="+say, http.StatusSeeOther)
		return
	}
	a.Kit.NotFound(w, r, "There is no such thing in your account.")
}
