package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"plotwarden/service/config"
	"plotwarden/store/engine"
	"plotwarden/store/engines"
)

// openStore opens the store of a configuration, which must be there.
func openStore(ctx context.Context, cfg *config.Config) (engine.Full, error) {
	password, err := cfg.StorePassword()
	if err != nil {
		return nil, inputError{err}
	}
	if !engines.Postgres(cfg.Store) {
		if _, err := os.Stat(cfg.Store); errors.Is(err, fs.ErrNotExist) {
			_, err = engines.OpenExisting(ctx, cfg.Store, engines.Options{})
			return nil, inputError{fmt.Errorf("the store of the configuration: %w", err)}
		}
	}
	return engines.OpenExisting(ctx, cfg.Store, engines.Options{Password: password})
}

// closing closes a store and keeps the first error.
func closing(st engine.Full, err *error) {
	if cerr := st.Close(); *err == nil {
		*err = cerr
	}
}
