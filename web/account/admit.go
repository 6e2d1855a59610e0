package account

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"time"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/web/page"
)

// seenEvery is how far apart uses of a grant are noted: a page is no reason to
// write.
const seenEvery = 5 * time.Minute

// Admit puts who makes a request, and from where, into its context.
func (a *Accounts) Admit(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		from := a.caller(r)
		ctx := context.WithValue(page.WithAddress(r.Context(), from.address), callerKey{}, from)
		who, err := a.who(ctx, r)
		if err != nil {
			a.Kit.Fail(w, r, fmt.Errorf("find out who asks: %w", err))
			return
		}
		next.ServeHTTP(w, r.WithContext(access.With(ctx, who)))
	})
}

type callerKey struct{}

func callerOf(ctx context.Context) caller {
	c, _ := ctx.Value(callerKey{}).(caller)
	return c
}

// who finds out who makes a request. A token is asked for nowhere but in the API,
// so that a program never gets at the pages of accounts.
func (a *Accounts) who(ctx context.Context, r *http.Request) (access.Who, error) {
	if a.Demo {
		w := access.Open(false)
		w.Check = a.demoCheck
		return w, nil
	}
	if secret, ok := bearer(r); ok {
		if !strings.HasPrefix(r.URL.Path, "/api/") {
			return access.Who{}, nil
		}
		return a.byToken(ctx, secret)
	}
	if c, err := r.Cookie(cookieName(sessionCookie, callerOf(ctx))); err == nil && c.Value != "" {
		if w, err := a.bySession(ctx, c.Value); err != nil || w.SignedIn() {
			return w, err
		}
	}
	if c, err := r.Cookie(cookieName(shareCookie, callerOf(ctx))); err == nil && c.Value != "" {
		if w, err := a.byShare(ctx, c.Value); err != nil || w.SignedIn() {
			return w, err
		}
	}
	switch has, err := a.exists(ctx); {
	case err != nil || has:
		return access.Who{}, err
	case Local(r):
		return access.Open(true), nil
	}
	return access.Who{}, nil
}

func bearer(r *http.Request) (string, bool) {
	kind, secret, _ := strings.Cut(r.Header.Get("Authorization"), " ")
	return strings.TrimSpace(secret), strings.EqualFold(kind, "Bearer")
}

func (a *Accounts) byToken(ctx context.Context, secret string) (access.Who, error) {
	g, ok, err := a.open(ctx, store.TokenGrant, secret, 0)
	if err != nil || !ok {
		return access.Who{}, err
	}
	var body tokenBody
	if err := json.Unmarshal(g.Body, &body); err != nil {
		return access.Who{}, fmt.Errorf("read token %s: %w", g.ID, err)
	}
	w, err := a.personOf(ctx, g)
	if w.SignedIn() {
		w.Via, w.ReadOnly = access.ByToken, body.ReadOnly
	}
	return w, err
}

func (a *Accounts) bySession(ctx context.Context, secret string) (access.Who, error) {
	g, ok, err := a.open(ctx, store.SessionGrant, secret, idleSession)
	if err != nil || !ok {
		return access.Who{}, err
	}
	w, err := a.personOf(ctx, g)
	if w.SignedIn() {
		w.Via, w.Check = access.BySession, checkOf(secret)
	}
	return w, err
}

func (a *Accounts) byShare(ctx context.Context, secret string) (access.Who, error) {
	g, ok, err := a.open(ctx, store.ShareGrant, secret, 0)
	if err != nil || !ok {
		return access.Who{}, err
	}
	return access.OfShare(g.Site, g.ID), nil
}

// open looks a secret up, says whether it holds, and notes its use. With an idle
// time, one that was not used for longer does not hold.
func (a *Accounts) open(ctx context.Context, kind, secret string, idle time.Duration) (store.Grant, bool, error) {
	g, err := a.Store.Grant(ctx, hashOf(secret))
	if notFound(err) {
		return g, false, nil
	}
	now := a.Now()
	last := g.Created
	if g.Seen.After(last) {
		last = g.Seen
	}
	if err != nil || g.Kind != kind || !holds(g, now) || idle > 0 && now.Sub(last) > idle {
		return g, false, err
	}
	if now.Sub(g.Seen) >= seenEvery {
		err = a.Store.SeeGrant(ctx, g.Hash, now)
	}
	return g, err == nil, err
}

// personOf returns the person of a grant with the rights that they have now; nobody
// when their account is closed.
func (a *Accounts) personOf(ctx context.Context, g store.Grant) (access.Who, error) {
	acc, err := a.Store.Account(ctx, g.Person)
	if notFound(err) || err == nil && !acc.Closed.IsZero() {
		return access.Who{}, nil
	}
	if err != nil {
		return access.Who{}, err
	}
	w := a.index().Of(acc.Person, access.Role(acc.Role))
	w.Grant = g.ID
	if w.Name == "" {
		w.Name = acc.Login
	}
	return w, nil
}

// people is who is who in one version of the garden.
type people struct {
	garden *garden.Garden
	index  *access.Index
}

func (a *Accounts) index() *access.Index {
	g := a.Garden()
	if g == nil {
		g = &garden.Garden{}
	}
	p := a.people.Load()
	if p == nil || p.garden != g {
		p = &people{g, access.NewIndex(g)}
		a.people.Store(p)
	}
	return p.index
}
