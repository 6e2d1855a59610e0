package service

import (
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"fmt"
	"net/http"
	"strings"

	"plotwarden/garden"
	"plotwarden/ground"
	"plotwarden/web/account"
	"plotwarden/web/page"
	"plotwarden/web/setup"
)

// openAccounts wires who may come in.
func (h *Host) openAccounts(ctx context.Context, kit *page.Kit) (*account.Accounts, error) {
	proxies, err := h.o.Config.Access.Prefixes()
	if err != nil {
		return nil, fmt.Errorf("access: %w", err)
	}
	return account.New(ctx, account.Deps{
		Kit: kit, Store: h.store, Garden: h.garden, Now: h.o.Now, Log: h.o.Log, Proxies: proxies, Demo: h.o.Demo != nil, Setup: setup.Path,
		Base: func() string { return h.live.Load().cfg.Mail.Link },
		NewPerson: func(ctx context.Context, p garden.Person) error {
			_, err := h.ground.People.Add(ctx, ground.By{Person: p.ID, Why: "made an account"}, p)
			return err
		},
	})
}

// announce tells whoever started a program without an account how to make the
// first.
func (h *Host) announce() {
	if code := h.accounts.Code(); code != "" {
		h.o.Log.Info("no account yet: open the address and type the code to become the owner", "address", "http://"+h.Addr()+account.OwnerPath, "code", code)
	}
}

// keepIn serves the metrics to this machine, and to whoever brings the token.
func keepIn(token string, metrics http.Handler) http.Handler {
	want := sha256.Sum256([]byte("Bearer " + token))
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		got := sha256.Sum256([]byte(strings.TrimSpace(r.Header.Get("Authorization"))))
		if account.Local(r) || token != "" && subtle.ConstantTimeCompare(want[:], got[:]) == 1 {
			metrics.ServeHTTP(w, r)
			return
		}
		http.Error(w, "The metrics are read from this machine, or with the token of the configuration.", http.StatusForbidden)
	})
}
