package page

import (
	"context"
	"net/http"

	"plotwarden/access"
)

// Auditor keeps what somebody did that others may ask about later.
type Auditor interface {
	// Audit keeps one entry: what was done, short and stable ("changed-site"), to
	// what, and what else there is to say. Who did it and from where is in ctx.
	Audit(ctx context.Context, did, on, detail string) error
}

// Audit keeps an entry for what a request did; every handler that changes
// something calls it after the change. One that cannot be kept is logged: what was
// done stands.
func (k *Kit) Audit(r *http.Request, did, on, detail string) {
	if k.o.Audit == nil {
		return
	}
	ctx := context.WithoutCancel(r.Context()) // a reader who left has still done it
	if err := k.o.Audit.Audit(ctx, did, on, detail); err != nil {
		k.o.Log.ErrorContext(ctx, "audit entry is lost", "did", did, "on", on, "detail", detail, "person", access.From(ctx).Person, "error", err)
	}
}

type addressKey struct{}

// WithAddress returns a context that carries the network address of whoever makes
// the request.
func WithAddress(ctx context.Context, address string) context.Context {
	return context.WithValue(ctx, addressKey{}, address)
}

// Address returns it; empty when nothing was said.
func Address(ctx context.Context) string {
	a, _ := ctx.Value(addressKey{}).(string)
	return a
}
