package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"plotwarden/store/engine"
)

// Place names the store for people.
func (s *Store) Place() string { return "SQLite file " + s.path }

// Dump gives every row of every table as all stood at one moment, as engine.Full
// says. Other processes may write meanwhile.
func (s *Store) Dump(ctx context.Context, give func(*engine.Table, []any) error) error {
	const what = "read the whole store"
	// The reader's connections begin with BEGIN IMMEDIATE unless told that they only
	// read; WAL gives all of it one moment.
	tx, err := s.read.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return s.explain(what, err)
	}
	defer func() { _ = tx.Rollback() }() // nothing was changed
	for _, t := range engine.Tables {
		if err := dumpTable(ctx, tx, t, give); err != nil {
			return s.explain(what+": table "+t.Name, err)
		}
	}
	return nil
}

func dumpTable(ctx context.Context, tx *sql.Tx, t *engine.Table, give func(*engine.Table, []any) error) error {
	names := t.Names()
	rows, err := tx.QueryContext(ctx, `SELECT `+strings.Join(names, ", ")+` FROM `+t.Name+` ORDER BY `+strings.Join(names[:t.Key], ", "))
	if err != nil {
		return err
	}
	defer rows.Close()
	row, at := make([]any, len(names)), make([]any, len(names))
	for i := range row {
		at[i] = &row[i]
	}
	for rows.Next() {
		if err := rows.Scan(at...); err != nil {
			return err
		}
		if err := t.Tidy(row); err != nil {
			return err
		}
		if err := give(t, row); err != nil {
			return err
		}
	}
	return rows.Err()
}

// Load puts rows into the store, as engine.Full says.
func (s *Store) Load(ctx context.Context, clear bool, next func() (*engine.Table, []any, error)) error {
	return s.change(ctx, "fill the store", func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `PRAGMA defer_foreign_keys = 1`); err != nil {
			return err
		}
		if err := emptied(ctx, tx, clear); err != nil {
			return err
		}
		k := newKeeper(tx)
		defer k.close()
		for n := 1; ; n++ {
			t, row, err := next()
			if err != nil || t == nil {
				return err
			}
			insert := `INSERT INTO ` + t.Name + ` (` + strings.Join(t.Names(), ", ") + `) VALUES (?` + strings.Repeat(", ?", len(row)-1) + `)`
			if err := k.exec(ctx, insert, row...); err != nil {
				return fmt.Errorf("row %d, of table %s: %w", n, t.Name, err)
			}
		}
	})
}

// emptied clears the tables or refuses those that hold something.
func emptied(ctx context.Context, tx *sql.Tx, clear bool) error {
	for i := len(engine.Tables) - 1; i >= 0; i-- {
		t := engine.Tables[i].Name
		if clear {
			if _, err := tx.ExecContext(ctx, `DELETE FROM `+t); err != nil {
				return err
			}
			continue
		}
		var one int
		err := tx.QueryRowContext(ctx, `SELECT 1 FROM `+t+` LIMIT 1`).Scan(&one)
		if err == nil {
			return fmt.Errorf("table %s: %w", t, engine.ErrNotEmpty)
		}
		if !errors.Is(err, sql.ErrNoRows) {
			return err
		}
	}
	return nil
}
