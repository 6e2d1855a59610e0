// Package sqlite keeps everything in one SQLite file. One connection writes and
// a few read; what was acknowledged survives a killed process and, on a disk
// that keeps its promises, a power cut.
package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"time"

	_ "modernc.org/sqlite" // the driver

	"plotwarden/store/engine"
)

// Store is an open database. It may be used from many goroutines, and the same
// file from more than one process.
type Store struct {
	path  string
	write *sql.DB // one connection, so that writers queue here and not in SQLite
	read  *sql.DB
	hear  engine.Watch
}

// Open opens the database at path and makes it, with its folder, where there is
// none. It brings an older layout up to date. It fails, naming the way out,
// when the file is damaged (ErrDamaged), belongs to another program or was
// written by a newer version, and when the folder cannot be written.
func Open(ctx context.Context, path string) (*Store, error) { return OpenWith(ctx, path, nil) }

// OpenWith is Open with somebody who hears how each change went; nil is nobody.
func OpenWith(ctx context.Context, path string, hear engine.Watch) (*Store, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, fmt.Errorf("open database %s: %w", path, err)
	}
	if err := os.MkdirAll(filepath.Dir(abs), 0o750); err != nil {
		return nil, fmt.Errorf("make the folder of database %s: %w", path, err)
	}
	if err := checkHeader(abs); err != nil {
		return nil, err
	}
	s := &Store{path: abs, hear: hear}
	if s.write, err = sql.Open("sqlite", dsn(abs, "journal_mode(WAL)", "synchronous(FULL)")); err != nil {
		return nil, fmt.Errorf("open database %s: %w", path, err)
	}
	s.write.SetMaxOpenConns(1)
	if s.read, err = sql.Open("sqlite", dsn(abs, "query_only(1)")); err != nil {
		return nil, errors.Join(fmt.Errorf("open database %s: %w", path, err), s.Close())
	}
	s.read.SetMaxOpenConns(max(2, runtime.NumCPU()))
	if err := s.patiently(ctx); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// patiently prepares the file. Where several processes open a new file at the
// same moment SQLite turns all but one away without waiting, so this waits.
func (s *Store) patiently(ctx context.Context) error {
	for tries := 1; ; tries++ {
		err := s.prepare(ctx)
		if !isBusy(err) || tries == 50 {
			return err
		}
		select {
		case <-ctx.Done():
			return errors.Join(err, ctx.Err())
		case <-time.After(time.Duration(tries) * 5 * time.Millisecond):
		}
	}
}

// Path returns the absolute path of the file.
func (s *Store) Path() string { return s.path }

// Close closes the database. Transactions under way are rolled back.
func (s *Store) Close() error {
	var errs []error
	for _, db := range []*sql.DB{s.read, s.write} { // the writer last: it empties the WAL
		if db != nil {
			errs = append(errs, db.Close())
		}
	}
	if err := errors.Join(errs...); err != nil {
		return fmt.Errorf("close database %s: %w", s.path, err)
	}
	return nil
}

// dsn carries the pragmas, because a PRAGMA statement would reach one pooled
// connection only.
func dsn(abs string, pragmas ...string) string {
	q := url.Values{"_pragma": append([]string{"busy_timeout(10000)", "foreign_keys(1)"}, pragmas...), "_txlock": {"immediate"}}
	return (&url.URL{Scheme: "file", Path: abs, RawQuery: q.Encode()}).String()
}

// change runs fn in one transaction of the writer.
func (s *Store) change(ctx context.Context, what string, fn func(*sql.Tx) error) error {
	err := s.explain(what, s.transact(ctx, fn))
	if s.hear != nil {
		s.hear(err)
	}
	return err
}

func (s *Store) transact(ctx context.Context, fn func(*sql.Tx) error) error {
	tx, err := s.write.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	if err := fn(tx); err != nil {
		if back := tx.Rollback(); back != nil && !errors.Is(back, sql.ErrTxDone) {
			err = errors.Join(err, back)
		}
		return err
	}
	return tx.Commit()
}

// exec runs one statement by itself.
func (s *Store) exec(ctx context.Context, what, query string, args ...any) (int64, error) {
	var n int64
	err := s.change(ctx, what, func(tx *sql.Tx) error {
		r, err := tx.ExecContext(ctx, query, args...)
		if err != nil {
			return err
		}
		n, err = r.RowsAffected()
		return err
	})
	return n, err
}
