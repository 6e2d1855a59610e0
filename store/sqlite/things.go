package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"plotwarden/store"
	"plotwarden/store/engine"
)

// PutThing writes a new version of a thing and returns it with its Rev. expect is
// the Rev that the writer saw, 0 when there was none; when another version stands
// there the error is ErrConflict.
func (s *Store) PutThing(ctx context.Context, t store.Thing, expect int64) (store.Thing, error) {
	what := "save " + t.Kind + " " + t.ID
	if err := engine.CheckThing(t); err != nil {
		return t, fmt.Errorf("%s: %w", what, err)
	}
	err := s.change(ctx, what, func(tx *sql.Tx) error {
		var have int64
		var deleted bool
		err := tx.QueryRowContext(ctx, `SELECT rev, deleted FROM things WHERE kind = ? AND id = ? ORDER BY rev DESC LIMIT 1`, t.Kind, t.ID).Scan(&have, &deleted)
		if err != nil && !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		if !engine.MayReplace(expect, have, deleted) {
			return fmt.Errorf("version %d was changed, version %d is the newest: %w", expect, have, store.ErrConflict)
		}
		if err := tx.QueryRowContext(ctx, `INSERT INTO counters (name, value) VALUES ('things', 1) ON CONFLICT (name) DO UPDATE SET value = value + 1 RETURNING value`).Scan(&t.Rev); err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `INSERT INTO things (rev, kind, id, deleted, at, person, why, body) VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
			t.Rev, t.Kind, t.ID, t.Deleted, micros(t.At), t.By, t.Why, engine.Blob(t.Body))
		return err
	})
	t.At = instant(micros(t.At))
	return t, err
}

const thingColumns = `rev, kind, id, deleted, at, person, why, body`

// Things returns the newest version of each thing that changed after a Rev,
// deleted ones too, in order of Rev.
func (s *Store) Things(ctx context.Context, after int64) ([]store.Thing, error) {
	return s.things(ctx, fmt.Sprintf("load what changed after version %d", after),
		`SELECT `+thingColumns+` FROM things WHERE rev > ? AND NOT EXISTS (SELECT 1 FROM things AS next WHERE next.kind = things.kind AND next.id = things.id AND next.rev > things.rev) ORDER BY rev`, after)
}

// ThingVersions returns every version of one thing, the oldest first.
func (s *Store) ThingVersions(ctx context.Context, kind, id string) ([]store.Thing, error) {
	return s.things(ctx, "load the versions of "+kind+" "+id, `SELECT `+thingColumns+` FROM things WHERE kind = ? AND id = ? ORDER BY rev`, kind, id)
}

func (s *Store) things(ctx context.Context, what, query string, args ...any) ([]store.Thing, error) {
	rows, err := s.read.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	var out []store.Thing
	for rows.Next() {
		var t store.Thing
		var at int64
		if err := rows.Scan(&t.Rev, &t.Kind, &t.ID, &t.Deleted, &at, &t.By, &t.Why, &t.Body); err != nil {
			return nil, s.explain(what, err)
		}
		t.At, t.Body = instant(at), engine.NoBlob(t.Body)
		out = append(out, t)
	}
	return out, s.explain(what, rows.Err())
}
