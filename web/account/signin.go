package account

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"plotwarden/access"
	"plotwarden/store"
	"plotwarden/web/page"
)

// signInBody is the page on which people sign in.
type signInBody struct {
	Fields  []page.Field
	Fault   string // of the whole attempt
	Note    string
	To      string
	Passkey bool // the address can have passkeys
}

func (a *Accounts) signInPage(w http.ResponseWriter, r *http.Request) {
	to := localPath(r.URL.Query().Get("to"))
	switch has, err := a.exists(r.Context()); {
	case err != nil:
		a.Kit.Fail(w, r, err)
		return
	case !has && !a.Demo:
		http.Redirect(w, r, OwnerPath, http.StatusSeeOther)
		return
	case access.From(r.Context()).Via == access.BySession:
		http.Redirect(w, r, to, http.StatusSeeOther)
		return
	}
	t := a.Kit.T(r)
	body := signInBody{To: to}
	if r.URL.Query().Get("done") == "out" {
		body.Note = t("You are signed out on this browser.")
	}
	a.showSignIn(w, r, http.StatusOK, body, "")
}

func (a *Accounts) showSignIn(w http.ResponseWriter, r *http.Request, status int, body signInBody, login string) {
	t := a.Kit.T(r)
	w.Header().Set("Cache-Control", "no-store")
	body.Passkey = a.relyingParty(r) != nil
	body.Fields = []page.Field{
		{Name: "login", Label: t("Sign-in name"), Value: login, Complete: "username webauthn", Required: true, Max: loginMax},
		{Name: "password", Label: t("Password"), Type: "password", Complete: "current-password", Required: true, Max: PasswordMax},
	}
	f := page.Frame{Title: t("Sign in"), Here: "sign-in", Body: body}
	if body.Passkey {
		f.Scripts = []string{"passkey.js"}
	}
	a.pages.Show(w, r, status, "sign-in", f)
}

// turnPatience is how long somebody waits for a turn at the passwords.
const turnPatience = 10 * time.Second

func (a *Accounts) signIn(w http.ResponseWriter, r *http.Request) {
	if !a.Kit.ReadForm(w, r) {
		return
	}
	t := a.Kit.T(r)
	login, password := tidyLogin(r.PostFormValue("login")), r.PostFormValue("password")
	body := signInBody{To: localPath(r.PostFormValue("to"))}
	byLogin, byAddress := "login "+login, addressKey(page.Address(r.Context()))
	if wait := a.tries.take(a.Now(), limit{byLogin, freeByLogin}, limit{byAddress, freeByAddress}); wait > 0 {
		a.slow(w, r, wait, &body, login)
		return
	}
	acc, err := a.match(r.Context(), login, password)
	switch {
	case errors.Is(err, errBusy) || errors.Is(err, context.DeadlineExceeded):
		w.Header().Set("Retry-After", "10")
		body.Fault = t("Many people are signing in at this moment. Try again in a few seconds.")
		a.showSignIn(w, r, http.StatusServiceUnavailable, body, login)
	case err != nil:
		a.Kit.Fail(w, r, err)
	case acc == nil:
		a.Kit.Audit(r, "sign-in-refused", login, "password")
		body.Fault = t("Sign-in name and password do not go together. Look at both and try again. Forgotten? Ask the owner of this installation for a link that sets a new one.")
		a.showSignIn(w, r, http.StatusUnauthorized, body, login)
	default:
		a.tries.pass(byLogin)
		a.tries.back(byAddress)
		a.finish(w, r, acc.Person, "password", body.To)
	}
}

// slow answers who has to wait.
func (a *Accounts) slow(w http.ResponseWriter, r *http.Request, wait time.Duration, body *signInBody, login string) {
	seconds := int(wait/time.Second) + 1
	w.Header().Set("Retry-After", fmt.Sprint(seconds))
	body.Fault = a.Kit.T(r)("Too many tries. Wait %d seconds, then try again.", seconds)
	a.showSignIn(w, r, http.StatusTooManyRequests, *body, login)
}

// match returns the open account that login and password belong to, or nil.
func (a *Accounts) match(ctx context.Context, login, password string) (*store.Account, error) {
	ctx, cancel := context.WithTimeout(ctx, turnPatience)
	defer cancel()
	acc, err := a.Store.AccountByLogin(ctx, login)
	if err != nil && !notFound(err) {
		return nil, err
	}
	ok, old, err := a.passwords.matches(ctx, acc.Password, password)
	if err != nil || !ok || !acc.Closed.IsZero() {
		return nil, err
	}
	if old {
		if acc.Password, err = a.passwords.hash(ctx, password); err == nil {
			_, err = a.Store.PutAccount(ctx, acc)
		}
		if err != nil && !errors.Is(err, store.ErrConflict) { // another sign-in did it
			return nil, err
		}
	}
	return &acc, nil
}

// finish begins the session of somebody who has shown who they are.
func (a *Accounts) finish(w http.ResponseWriter, r *http.Request, person, by, to string) {
	if err := a.begin(w, r, person); err != nil {
		a.Kit.Fail(w, r, err)
		return
	}
	a.audit(r, person, "signed-in", person, by)
	http.Redirect(w, r, to, http.StatusSeeOther)
}

func (a *Accounts) signOut(w http.ResponseWriter, r *http.Request) {
	if err := a.leave(r); err != nil {
		a.Kit.Fail(w, r, err)
		return
	}
	a.setCookie(w, r, sessionCookie, "", 0)
	w.Header().Set("Clear-Site-Data", `"cache"`)
	a.Kit.Audit(r, "signed-out", access.From(r.Context()).Person, "")
	http.Redirect(w, r, page.SignInPath+"?done=out", http.StatusSeeOther)
}

// localPath is where to go after signing in; never away from here.
func localPath(to string) string {
	u, err := url.Parse(to)
	if err != nil || u.Scheme != "" || u.Host != "" || u.User != nil || !strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") || strings.ContainsAny(to, "\\\x00\r\n\t") {
		return "/"
	}
	return to
}

// Logins.
const (
	loginMin = 3
	loginMax = 64
)

// tidyLogin makes a typed login the one that is kept.
func tidyLogin(s string) string { return strings.ToLower(strings.TrimSpace(s)) }

// loginFault says what is wrong with a new login; empty when nothing is.
func loginFault(login string) string {
	if n := len(login); n < loginMin || n > loginMax {
		return "Take 3 to 64 characters."
	}
	for _, c := range login {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && !strings.ContainsRune(".-_@+", c) {
			return "Take letters a to z, digits, and . - _ @ + only. An e-mail address will do."
		}
	}
	return ""
}
