package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"

	"plotwarden/store"
	"plotwarden/store/engine"
)

// errSame says that a row of the same key is there already.
var errSame = errors.New("there already")

// AddTuning keeps one entry of a region's changes. The same again is no error;
// another one under the same ID is ErrConflict.
func (s *Store) AddTuning(ctx context.Context, t store.Tuning) error {
	what := "keep change " + t.ID + " of " + t.Region
	if err := engine.CheckTuning(t); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return s.change(ctx, what, func(tx *sql.Tx) error {
		res, err := tx.ExecContext(ctx, `INSERT INTO tunings (id, region, at, person, undoes, body) VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING`,
			t.ID, t.Region, micros(t.At), t.By, t.Undoes, t.Body)
		if err := changed(res, err, errSame); err != errSame {
			return err
		}
		var have store.Tuning
		var at int64
		if err := tx.QueryRowContext(ctx, `SELECT region, at, person, undoes, body FROM tunings WHERE id = ?`, t.ID).Scan(&have.Region, &at, &have.By, &have.Undoes, &have.Body); err != nil {
			return err
		}
		if have.Region != t.Region || at != micros(t.At) || have.By != t.By || have.Undoes != t.Undoes || !bytes.Equal(have.Body, t.Body) {
			return store.ErrConflict
		}
		return nil
	})
}

// Tunings returns the changes of a region, or of all when it is empty, in order of
// time and ID.
func (s *Store) Tunings(ctx context.Context, region string) ([]store.Tuning, error) {
	what := "load the changes of " + region
	rows, err := s.read.QueryContext(ctx, `SELECT id, region, at, person, undoes, body FROM tunings WHERE ?1 = '' OR region = ?1 ORDER BY at, id`, region)
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	var out []store.Tuning
	for rows.Next() {
		var t store.Tuning
		var at int64
		if err := rows.Scan(&t.ID, &t.Region, &at, &t.By, &t.Undoes, &t.Body); err != nil {
			return nil, s.explain(what, err)
		}
		t.At = instant(at)
		out = append(out, t)
	}
	return out, s.explain(what, rows.Err())
}
