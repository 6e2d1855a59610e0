// Package engines opens whichever engine an address names.
package engines

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"plotwarden/store/engine"
	"plotwarden/store/postgres"
	"plotwarden/store/sqlite"
)

// Postgres says whether an address is that of a PostgreSQL database; all others
// are paths of SQLite files.
func Postgres(address string) bool {
	return strings.HasPrefix(address, "postgres://") || strings.HasPrefix(address, "postgresql://")
}

// Options are what the address does not say.
type Options struct {
	Password string // of a PostgreSQL user; see postgres.Options
	// Watch hears how each change went; nil is nobody. See engine.Watch.
	Watch engine.Watch
}

// Open opens the store at an address: a path, or postgres://user@host/name. It
// makes the file, and the tables, where there are none.
func Open(ctx context.Context, address string, o Options) (engine.Full, error) {
	if Postgres(address) {
		return postgres.Open(ctx, address, postgres.Options{Password: o.Password, Watch: o.Watch})
	}
	return sqlite.OpenWith(ctx, address, o.Watch)
}

// OpenExisting is Open for a store that must be there already.
func OpenExisting(ctx context.Context, address string, o Options) (engine.Full, error) {
	if !Postgres(address) {
		if _, err := os.Stat(address); errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("the store %s is not there; the service makes it, with plotwarden serve or refresh", address)
		} else if err != nil {
			return nil, fmt.Errorf("the store: %w", err)
		}
	}
	return Open(ctx, address, o)
}
