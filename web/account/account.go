// Package account is how people sign in and what they may then do to the accounts:
// passwords and passkeys, sessions, invitations, shared links, tokens, and the log
// of who did what.
package account

import (
	"context"
	"embed"
	"errors"
	"log/slog"
	"net/netip"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/web/page"
)

//go:embed templates
var templateFiles embed.FS

// Store is where accounts are kept. Its errors wrap those of package store.
type Store interface {
	PutAccount(ctx context.Context, a store.Account) (store.Account, error)
	Account(ctx context.Context, person string) (store.Account, error)
	AccountByLogin(ctx context.Context, login string) (store.Account, error)
	Accounts(ctx context.Context) ([]store.Account, error)
	AddGrant(ctx context.Context, g store.Grant) error
	Grant(ctx context.Context, hash string) (store.Grant, error)
	Grants(ctx context.Context, kind, person, site string) ([]store.Grant, error)
	SeeGrant(ctx context.Context, hash string, at time.Time) error
	EndGrant(ctx context.Context, id string, at time.Time) error
	AddAudit(ctx context.Context, a store.Audit) error
	Audits(ctx context.Context, before int64, limit int) ([]store.Audit, error)
}

// Deps is what accounts are made from.
type Deps struct {
	Kit    *page.Kit
	Store  Store
	Garden func() *garden.Garden // the garden as it is now; nil is empty
	Now    func() time.Time
	Log    *slog.Logger // nil is slog.Default
	// NewPerson adds a person to the ground; nil where only a file can, and then
	// people without an entry there have an account and no name.
	NewPerson func(ctx context.Context, p garden.Person) error
	// Base returns the address at which readers reach the pages, "https://host[:port]";
	// empty when none is known. Links that are handed on begin with it, and
	// passkeys belong to it. nil knows none.
	Base func() string
	// Proxies are the networks whose word on where a request came from counts.
	Proxies []netip.Prefix
	// Demo lets everybody do everything.
	Demo bool
	// Setup is where the owner goes after the first account was made; "/" when empty.
	Setup string
}

// Accounts answers the pages of accounts and says who makes a request.
type Accounts struct {
	Deps
	pages      *page.Set
	any        atomic.Bool // an account exists; it never goes back
	code       string      // makes the first owner
	setup      sync.Mutex
	demoCheck  string
	tries      *throttle
	passwords  *hasher
	ceremonies *ceremonies
	people     atomic.Pointer[people]
}

// New returns the accounts of an installation. It panics when Kit, Store, Garden
// or Now is missing: that is a mistake of the program and not of its user.
func New(ctx context.Context, d Deps) (*Accounts, error) {
	if d.Kit == nil || d.Store == nil || d.Garden == nil || d.Now == nil {
		panic("account: Deps needs Kit, Store, Garden and Now")
	}
	if d.Log == nil {
		d.Log = slog.Default()
	}
	a := &Accounts{
		Deps: d, code: setupCode(), demoCheck: newSecret(), tries: newThrottle(), passwords: newHasher(), ceremonies: newCeremonies(),
		pages: d.Kit.Parse(templateFiles, "templates/", "sign-in", "owner", "account", "accounts", "link", "invite", "share", "audit"),
	}
	_, err := a.exists(ctx)
	return a, err
}

// exists says whether there is an account.
func (a *Accounts) exists(ctx context.Context) (bool, error) {
	if a.any.Load() {
		return true, nil
	}
	list, err := a.Store.Accounts(ctx)
	if err != nil {
		return false, err
	}
	if len(list) > 0 {
		a.any.Store(true)
	}
	return len(list) > 0, nil
}

// Mount adds the pages to a mux.
func (a *Accounts) Mount(m *page.Mux) {
	m.HandleFunc("GET "+page.SignInPath, a.signInPage, page.Public)
	m.HandleFunc("POST "+page.SignInPath, a.signIn, page.Public)
	m.HandleFunc("POST /sign-out", a.signOut)
	m.HandleFunc("POST /sign-in/passkey/begin", a.passkeyAsk, page.Public)
	m.HandleFunc("POST /sign-in/passkey", a.passkeySignIn, page.Public)
	m.HandleFunc("GET "+OwnerPath, a.ownerPage, page.Public)
	m.HandleFunc("POST "+OwnerPath, a.makeOwner, page.Public)

	m.HandleFunc("GET /account", a.own)
	m.HandleFunc("POST /account/password", a.changePassword)
	m.HandleFunc("POST /account/sessions/{id}/end", a.endSession)
	m.HandleFunc("POST /account/passkeys/begin", a.passkeyOffer, page.JSON)
	m.HandleFunc("POST /account/passkeys", a.passkeyAdd, page.JSON)
	m.HandleFunc("POST /account/passkeys/{id}/remove", a.passkeyRemove)
	m.HandleFunc("POST /account/tokens", a.makeToken)
	m.HandleFunc("POST /account/tokens/{id}/end", a.endToken)

	m.HandleFunc("GET /accounts", a.list)
	m.HandleFunc("POST /accounts/invite", a.makeInvite)
	m.HandleFunc("POST /accounts/invite/{id}/end", a.endInvite)
	m.HandleFunc("POST /accounts/{person}/role", a.changeRole)
	m.HandleFunc("POST /accounts/{person}/close", a.closeAccount)
	m.HandleFunc("POST /accounts/{person}/open", a.openAccount)
	m.HandleFunc("POST /accounts/{person}/reset", a.makeReset)
	m.HandleFunc("GET /invite/{secret}", a.invitePage, page.Public)
	m.HandleFunc("POST /invite/{secret}", a.acceptInvite, page.Public)

	m.HandleFunc("GET /site/{site}/share", a.sharePage)
	m.HandleFunc("POST /site/{site}/share", a.makeShare)
	m.HandleFunc("POST /site/{site}/share/{id}/end", a.endShare)
	m.HandleFunc("GET /share/{secret}", a.followShare, page.Public)

	m.HandleFunc("GET /audit", a.auditPage)
}

func (a *Accounts) base() string {
	if a.Base == nil {
		return ""
	}
	return strings.TrimSuffix(a.Base(), "/")
}

// holds says whether a grant lets somebody in at an instant.
func holds(g store.Grant, now time.Time) bool {
	return g.Ended.IsZero() && (g.Expires.IsZero() || now.Before(g.Expires))
}

func notFound(err error) bool { return errors.Is(err, store.ErrNotFound) }
