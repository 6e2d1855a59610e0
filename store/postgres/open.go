// Package postgres keeps everything in one schema of a PostgreSQL database, for
// installations whose work many processes share. What was acknowledged survives a
// killed process and a killed server.
package postgres

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"

	"plotwarden/store/engine"
)

// Store is an open database. It may be used from many goroutines, and the same
// database by many processes.
type Store struct {
	pool *pgxpool.Pool
	name string // of the place, without secrets
	hear engine.Watch
}

// Options are what the address does not say.
type Options struct {
	// Password of the user. Where it is empty the environment's PGPASSWORD counts,
	// then the file that passfile in the address or PGPASSFILE names.
	Password string
	Watch    engine.Watch // hears how each change went; nil is nobody
}

// patience is how long opening waits for a server that is starting.
const patience = 30 * time.Second

// Open opens the database at an address of the form postgres://user@host/name and
// brings its layout up to date. The tables stand in the first schema of
// search_path, which may be given in the address, as may pool_max_conns and
// sslmode. An error never holds the password.
func Open(ctx context.Context, address string, o Options) (*Store, error) {
	c, err := pgxpool.ParseConfig(address)
	if err != nil {
		return nil, fmt.Errorf("read the address of the database: %w", err) // pgx takes the password out
	}
	if o.Password != "" {
		c.ConnConfig.Password = o.Password
	}
	if c.ConnConfig.RuntimeParams["application_name"] == "" {
		c.ConnConfig.RuntimeParams["application_name"] = "plotwarden"
	}
	// A server that is asked not to wait for its disk would lose what it said was
	// kept.
	c.ConnConfig.RuntimeParams["synchronous_commit"] = "on"
	s := &Store{name: fmt.Sprintf("PostgreSQL database %s on %s", c.ConnConfig.Database, c.ConnConfig.Host), hear: o.Watch}
	if s.pool, err = pgxpool.NewWithConfig(ctx, c); err != nil {
		return nil, s.explain("open database", err)
	}
	if err := s.patiently(ctx); err != nil {
		s.pool.Close()
		return nil, err
	}
	return s, nil
}

// patiently waits for a server that is starting, then prepares the layout.
func (s *Store) patiently(ctx context.Context) error {
	end := time.Now().Add(patience)
	for {
		err := s.pool.Ping(ctx)
		if err == nil {
			return s.migrate(ctx)
		}
		var e *pgconn.PgError
		if !errors.As(err, &e) || e.Code != "57P03" || time.Now().After(end) {
			return s.explain("open database", err)
		}
		select {
		case <-ctx.Done():
			return s.explain("open database", errors.Join(err, ctx.Err()))
		case <-time.After(200 * time.Millisecond):
		}
	}
}

// Place names the database without secrets.
func (s *Store) Place() string { return s.name }

// Pool returns the connections, for job queues that share the database.
func (s *Store) Pool() *pgxpool.Pool { return s.pool }

// Close closes the connections. Transactions under way are rolled back.
func (s *Store) Close() error {
	s.pool.Close()
	return nil
}

// change runs fn in one transaction. A transaction that the server took back
// because of another one is run again.
func (s *Store) change(ctx context.Context, what string, fn func(pgx.Tx) error) error {
	for try := 1; ; try++ {
		err := pgx.BeginFunc(ctx, s.pool, fn)
		if !again(err) || try == 10 || ctx.Err() != nil {
			err = s.explain(what, err)
			s.watch(err)
			return err
		}
	}
}

func (s *Store) watch(err error) {
	if s.hear != nil {
		s.hear(err)
	}
}

// again holds for a deadlock or a failed serialisation, and for a connection that
// broke before anything was sent.
func again(err error) bool {
	var e *pgconn.PgError
	if errors.As(err, &e) {
		return e.Code == "40001" || e.Code == "40P01"
	}
	return err != nil && pgconn.SafeToRetry(err)
}

// exec runs one statement by itself.
func (s *Store) exec(ctx context.Context, what, query string, args ...any) (pgconn.CommandTag, error) {
	var tag pgconn.CommandTag
	err := s.change(ctx, what, func(tx pgx.Tx) (err error) {
		tag, err = tx.Exec(ctx, query, args...)
		return err
	})
	return tag, err
}

// list reads the rows of a query.
func list[T any](ctx context.Context, s *Store, what string, scan func(pgx.CollectableRow) (T, error), query string, args ...any) ([]T, error) {
	rows, err := s.pool.Query(ctx, query, args...)
	if err != nil {
		return nil, s.explain(what, err)
	}
	out, err := pgx.CollectRows(rows, scan)
	if err != nil {
		return nil, s.explain(what, err)
	}
	if len(out) == 0 {
		return nil, nil
	}
	return out, nil
}
