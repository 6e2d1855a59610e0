package postgres

import (
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5/pgconn"

	"plotwarden/store"
)

// explain wraps an error with what was being done and, where the server's code
// tells, with the way out. Codes: PostgreSQL documentation, appendix A.
func (s *Store) explain(what string, err error) error {
	if err == nil {
		return nil
	}
	var connect *pgconn.ConnectError
	var e *pgconn.PgError
	if !errors.As(err, &e) {
		if errors.As(err, &connect) {
			return fmt.Errorf("%s: %s does not answer; see whether the server runs and the address is right: %w", what, s.name, err)
		}
		return fmt.Errorf("%s: %w", what, err)
	}
	switch e.Code {
	case "53100":
		return fmt.Errorf("%s: the disk of %s is full; what was saved before is safe. Free some space: %w: %w", what, s.name, store.ErrFull, err)
	case "25006":
		return fmt.Errorf("%s: %s takes no changes: it is a copy or was set read-only. Name the primary server: %w: %w", what, s.name, store.ErrReadOnly, err)
	case "XX001", "XX002":
		return fmt.Errorf("%s: %s: %w: %w. Stop the service, make a new database and restore a backup into it", what, s.name, store.ErrDamaged, err)
	case "28P01", "28000":
		return fmt.Errorf("%s: %s refused the user or the password; the password comes from store_password_file, PGPASSWORD or PGPASSFILE: %w", what, s.name, err)
	case "3D000":
		return fmt.Errorf("%s: %s is not there; make it with createdb: %w", what, s.name, err)
	case "42501":
		return fmt.Errorf("%s: the user may not do this in %s; it needs a schema that it owns: %w", what, s.name, err)
	case "53300":
		return fmt.Errorf("%s: %s has no free connection; raise max_connections or lower pool_max_conns: %w", what, s.name, err)
	}
	return fmt.Errorf("%s: %w", what, err)
}
