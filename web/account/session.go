package account

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"time"

	"plotwarden/store"
)

// How long a sign-in lasts: 30 days in all (NIST SP 800-63B-4, 2.1.3), and 14 days
// without a visit.
const (
	wholeSession = 30 * 24 * time.Hour
	idleSession  = 14 * 24 * time.Hour
)

const (
	sessionCookie = "session"
	shareCookie   = "share"
)

// cookieName is a cookie's name: over TLS with the prefix that keeps others from
// setting it, other subdomains too (RFC 6265bis, 4.1.3.2).
func cookieName(name string, from caller) string {
	if from.secure {
		return "__Host-" + name
	}
	return name
}

func (a *Accounts) setCookie(w http.ResponseWriter, r *http.Request, name, value string, age time.Duration) {
	from := callerOf(r.Context())
	c := &http.Cookie{Name: cookieName(name, from), Value: value, Path: "/", MaxAge: int(age.Seconds()), HttpOnly: true, Secure: from.secure, SameSite: http.SameSiteLaxMode}
	if value == "" {
		c.MaxAge = -1
	}
	http.SetCookie(w, c)
}

// begin signs somebody in: a new session under a new secret, whatever the browser
// had before.
func (a *Accounts) begin(w http.ResponseWriter, r *http.Request, person string) error {
	secret, now := newSecret(), a.Now()
	if err := a.leave(r); err != nil {
		return err
	}
	g := store.Grant{
		Hash: hashOf(secret), ID: newID(), Kind: store.SessionGrant, Person: person, Name: browserOf(r.UserAgent()),
		Created: now, Seen: now, Expires: now.Add(wholeSession),
	}
	if err := a.Store.AddGrant(r.Context(), g); err != nil {
		return fmt.Errorf("begin a session: %w", err)
	}
	a.setCookie(w, r, sessionCookie, secret, wholeSession)
	return nil
}

// leave ends the session that the browser holds.
func (a *Accounts) leave(r *http.Request) error {
	c, err := r.Cookie(cookieName(sessionCookie, callerOf(r.Context())))
	if err != nil || c.Value == "" {
		return nil
	}
	g, err := a.Store.Grant(r.Context(), hashOf(c.Value))
	if notFound(err) {
		return nil
	}
	if err == nil && g.Kind == store.SessionGrant && g.Ended.IsZero() {
		err = a.end(r.Context(), g)
	}
	return err
}

// end ends a grant; one that has ended is no fault.
func (a *Accounts) end(ctx context.Context, g store.Grant) error {
	if !g.Ended.IsZero() {
		return nil
	}
	if err := a.Store.EndGrant(ctx, g.ID, a.Now()); err != nil && !taken(err) {
		return fmt.Errorf("end %s %s: %w", g.Kind, g.ID, err)
	}
	return nil
}

// endAll ends the grants of a kind that a person has, but for one.
func (a *Accounts) endAll(ctx context.Context, kind, person, but string) error {
	list, err := a.Store.Grants(ctx, kind, person, "")
	for _, g := range list {
		if g.ID != but && err == nil {
			err = a.end(ctx, g)
		}
	}
	return err
}

// browserOf tells a person their own browsers apart; no more is kept of it.
func browserOf(agent string) string {
	pick := func(of ...string) string {
		for i := 0; i < len(of); i += 2 {
			if strings.Contains(agent, of[i]) {
				return of[i+1]
			}
		}
		return ""
	}
	browser := pick("Edg/", "Edge", "OPR/", "Opera", "Firefox/", "Firefox", "Chrome/", "Chrome", "Safari/", "Safari")
	system := pick("Android", "Android", "iPhone", "iPhone", "iPad", "iPad", "Windows", "Windows", "Mac OS X", "Mac", "Linux", "Linux")
	switch {
	case browser == "" && system == "":
		return "?"
	case browser == "" || system == "":
		return browser + system
	}
	return browser + ", " + system
}
