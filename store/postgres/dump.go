package postgres

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"plotwarden/store/engine"
)

// Dump gives every row of every table as all stood at one moment, as engine.Full
// says. Others may write meanwhile.
func (s *Store) Dump(ctx context.Context, give func(*engine.Table, []any) error) error {
	const what = "read the whole store"
	tx, err := s.pool.BeginTx(ctx, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly})
	if err != nil {
		return s.explain(what, err)
	}
	defer func() { _ = tx.Rollback(context.WithoutCancel(ctx)) }() // nothing was changed
	for _, t := range engine.Tables {
		if err := dumpTable(ctx, tx, t, give); err != nil {
			return s.explain(what+": table "+t.Name, err)
		}
	}
	return nil
}

func dumpTable(ctx context.Context, tx pgx.Tx, t *engine.Table, give func(*engine.Table, []any) error) error {
	names := t.Names()
	rows, err := tx.Query(ctx, `SELECT `+strings.Join(names, ", ")+` FROM `+t.Name+` ORDER BY `+strings.Join(names[:t.Key], ", "))
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		row, err := rows.Values()
		if err != nil {
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

// Load puts rows into the store, as engine.Full says. Rows of one table that follow
// each other are sent as one copy.
func (s *Store) Load(ctx context.Context, clear bool, next func() (*engine.Table, []any, error)) error {
	const what = "fill the store"
	// Not run again after a failure: the rows come once.
	err := pgx.BeginFunc(ctx, s.pool, func(tx pgx.Tx) error {
		if err := emptied(ctx, tx, clear); err != nil {
			return err
		}
		in := &copier{next: next}
		in.pull()
		for in.table != nil && in.err == nil {
			t := in.table
			in.current = t
			if _, err := tx.CopyFrom(ctx, pgx.Identifier{t.Name}, t.Names(), in); err != nil {
				return fmt.Errorf("table %s: %w", t.Name, err)
			}
		}
		if in.err != nil {
			return in.err
		}
		for _, t := range engine.Tables {
			if !t.Serial {
				continue
			}
			id := t.Columns[0].Name
			if _, err := tx.Exec(ctx, `SELECT setval(pg_get_serial_sequence($1, $2), greatest((SELECT coalesce(max(`+id+`), 0) FROM `+t.Name+`), 1), EXISTS (SELECT 1 FROM `+t.Name+`))`, t.Name, id); err != nil {
				return err
			}
		}
		return nil
	})
	err = s.explain(what, err)
	s.watch(err)
	return err
}

// copier gives the rows of one table after another to copies.
type copier struct {
	next    func() (*engine.Table, []any, error)
	current *engine.Table // of the copy
	table   *engine.Table // of the row at hand; nil at the end
	row     []any
	started bool
	err     error
}

func (c *copier) pull() { c.table, c.row, c.err = c.next() }

func (c *copier) Next() bool {
	if c.started {
		c.pull()
	}
	c.started = c.err == nil && c.table == c.current && c.table != nil
	return c.started
}

func (c *copier) Values() ([]any, error) { return c.row, nil }

func (c *copier) Err() error { return c.err }

func emptied(ctx context.Context, tx pgx.Tx, clear bool) error {
	var names []string
	for _, t := range engine.Tables {
		names = append(names, t.Name)
	}
	if _, err := tx.Exec(ctx, `LOCK TABLE `+strings.Join(names, ", ")+` IN ACCESS EXCLUSIVE MODE`); err != nil {
		return err
	}
	if clear {
		_, err := tx.Exec(ctx, `TRUNCATE `+strings.Join(names, ", ")+` RESTART IDENTITY`)
		return err
	}
	for _, t := range names {
		var one int
		err := tx.QueryRow(ctx, `SELECT 1 FROM `+t+` LIMIT 1`).Scan(&one)
		if err == nil {
			return fmt.Errorf("table %s: %w", t, engine.ErrNotEmpty)
		}
		if !errors.Is(err, pgx.ErrNoRows) {
			return err
		}
	}
	return nil
}
