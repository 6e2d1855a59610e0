package sqlite

import (
	"bytes"
	"context"
	"embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"github.com/pressly/goose/v3"
	msqlite "modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"plotwarden/store"
)

// ErrDamaged says that the file cannot be read as a database.
var ErrDamaged = store.ErrDamaged

const wayOut = "Stop the service, move the file and those beside it that end in -wal and -shm to a safe place, and put a backup in its stead (plotwarden restore --force does both). Without a backup start with no file: weather is fetched again, logged finds and treatments have to be imported"

// applicationID marks our files in the SQLite header: "plwd".
const applicationID = 0x706c7764

// quickCheckLimit is the size up to which opening looks through the whole file.
// Larger files are looked through by Check.
const quickCheckLimit = 256 << 20

//go:embed migrations/*.sql
var migrationFiles embed.FS

// checkHeader reads the start of the file before SQLite does, for an error that
// can be understood.
func checkHeader(path string) error {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("open database: %w", err)
	}
	defer f.Close()
	head := make([]byte, 16)
	n, err := io.ReadFull(f, head)
	switch {
	case err == io.EOF: // an empty file is a database not yet begun
		return nil
	case err != nil && err != io.ErrUnexpectedEOF:
		return fmt.Errorf("read database %s: %w", path, err)
	case n < len(head) || !bytes.Equal(head, []byte("SQLite format 3\x00")):
		return fmt.Errorf("%s: %w: it does not begin as an SQLite file. %s", path, ErrDamaged, wayOut)
	}
	return nil
}

// prepare checks the file and brings its layout up to date.
func (s *Store) prepare(ctx context.Context) error {
	var id, tables int
	if err := s.write.QueryRowContext(ctx, `SELECT (SELECT application_id FROM pragma_application_id), (SELECT count(*) FROM sqlite_schema)`).Scan(&id, &tables); err != nil {
		return s.explain("open database", err)
	}
	if tables > 0 && id != applicationID {
		return fmt.Errorf("%s is the SQLite file of another program (application id %#x). Choose another path", s.path, id)
	}
	if info, err := os.Stat(s.path); err == nil && info.Size() <= quickCheckLimit {
		if err := s.Check(ctx); err != nil {
			return err
		}
	}
	if _, err := s.write.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", applicationID)); err != nil {
		return s.explain("open database", err)
	}
	return s.migrate(ctx)
}

func (s *Store) migrate(ctx context.Context) error {
	files, err := fs.Sub(migrationFiles, "migrations")
	if err != nil {
		return fmt.Errorf("read migrations: %w", err)
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, s.write, files, goose.WithDisableGlobalRegistry(true))
	if err != nil {
		return s.explain("read migrations", err)
	}
	current, target, err := p.GetVersions(ctx)
	if err != nil {
		return s.explain("read the version of the database", err)
	}
	if current > target {
		return fmt.Errorf("%s has layout %d, this program knows layouts up to %d: it was written by a newer version. Use that version, or restore the backup from before the upgrade", s.path, current, target)
	}
	for current < target {
		_, err := p.Up(ctx)
		if err == nil {
			return nil
		}
		// Another process may have been quicker with a step. Where it has got
		// further, go on from there; where nobody has, the step itself is at fault.
		now, _, again := p.GetVersions(ctx)
		if again != nil || now <= current {
			return s.explain(fmt.Sprintf("bring the database from layout %d to %d", current, target), err)
		}
		current = now
	}
	return nil
}

// Check looks through the whole file for damage.
func (s *Store) Check(ctx context.Context) error {
	rows, err := s.read.QueryContext(ctx, "PRAGMA quick_check(3)")
	if err != nil {
		return s.explain("check database", err)
	}
	defer rows.Close()
	for rows.Next() {
		var line string
		if err := rows.Scan(&line); err != nil {
			return s.explain("check database", err)
		}
		if line != "ok" {
			return fmt.Errorf("%s: %w: %s. %s", s.path, ErrDamaged, line, wayOut)
		}
	}
	return s.explain("check database", rows.Err())
}

func isBusy(err error) bool {
	var e *msqlite.Error
	return errors.As(err, &e) && e.Code()&0xFF == lib.SQLITE_BUSY
}

// explain wraps an error with what was being done and, where SQLite's code
// tells, with the way out.
func (s *Store) explain(what string, err error) error {
	if err == nil {
		return nil
	}
	var e *msqlite.Error
	if !errors.As(err, &e) {
		return fmt.Errorf("%s: %w", what, err)
	}
	switch e.Code() & 0xFF {
	case lib.SQLITE_CORRUPT, lib.SQLITE_NOTADB:
		return fmt.Errorf("%s: %s: %w: %w. %s", what, s.path, ErrDamaged, err, wayOut)
	case lib.SQLITE_FULL:
		return fmt.Errorf("%s: the disk of %s is full; what was saved before is safe. Free some space: %w: %w", what, s.path, store.ErrFull, err)
	case lib.SQLITE_READONLY:
		return fmt.Errorf("%s: %s or its folder cannot be written; look at its owner and whether the disk is mounted read-only: %w: %w", what, s.path, store.ErrReadOnly, err)
	case lib.SQLITE_CANTOPEN:
		return fmt.Errorf("%s: %s cannot be opened; look at the folder and its owner: %w", what, s.path, err)
	case lib.SQLITE_IOERR:
		return fmt.Errorf("%s: the disk of %s failed to read or write: %w: %w", what, s.path, store.ErrDisk, err)
	case lib.SQLITE_BUSY, lib.SQLITE_LOCKED:
		return fmt.Errorf("%s: another process keeps %s locked: %w: %w", what, s.path, store.ErrLocked, err)
	}
	return fmt.Errorf("%s: %w", what, err)
}
