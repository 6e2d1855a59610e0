package postgres

import (
	"context"
	"embed"
	"fmt"
	"io/fs"

	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// migrate brings the layout up to date. Of several processes that start at once
// one does it while the others wait.
func (s *Store) migrate(ctx context.Context) error {
	files, err := fs.Sub(migrationFiles, "migrations")
	if err != nil {
		return fmt.Errorf("read migrations: %w", err)
	}
	locker, err := lock.NewPostgresSessionLocker()
	if err != nil {
		return fmt.Errorf("read migrations: %w", err)
	}
	db := stdlib.OpenDBFromPool(s.pool)
	defer db.Close()
	p, err := goose.NewProvider(goose.DialectPostgres, db, files, goose.WithDisableGlobalRegistry(true), goose.WithSessionLocker(locker))
	if err != nil {
		return s.explain("read migrations", err)
	}
	current, target, err := p.GetVersions(ctx)
	if err != nil {
		return s.explain("read the version of the database", err)
	}
	if current > target {
		return fmt.Errorf("%s has layout %d, this program knows layouts up to %d: it was written by a newer version. Use that version, or restore the backup from before the upgrade", s.name, current, target)
	}
	if current == target {
		return nil
	}
	if _, err := p.Up(ctx); err != nil {
		return s.explain(fmt.Sprintf("bring the database from layout %d to %d", current, target), err)
	}
	return nil
}

// Check reads every table once, which finds what the server itself can tell of
// damage.
func (s *Store) Check(ctx context.Context) error {
	tables, err := list(ctx, s, "check database", text, `SELECT quote_ident(table_name) FROM information_schema.tables WHERE table_schema = current_schema() AND table_type = 'BASE TABLE' ORDER BY 1`)
	if err != nil {
		return err
	}
	for _, t := range tables {
		var n int64
		if err := s.pool.QueryRow(ctx, `SELECT count(*) FROM `+t).Scan(&n); err != nil {
			return s.explain("check table "+t, err)
		}
	}
	return nil
}
