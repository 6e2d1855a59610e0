package postgres

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

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
	err := s.change(ctx, what, func(tx pgx.Tx) error {
		// The counter's row is held until the end: numbers come into sight in their
		// order, so that a reader of what came after one misses none.
		var rev int64
		if err := tx.QueryRow(ctx, `INSERT INTO counters (name, value) VALUES ('things', 1) ON CONFLICT (name) DO UPDATE SET value = counters.value + 1 RETURNING value`).Scan(&rev); err != nil {
			return err
		}
		var have, deleted int64
		err := tx.QueryRow(ctx, `SELECT rev, deleted FROM things WHERE kind = $1 AND id = $2 ORDER BY rev DESC LIMIT 1`, t.Kind, t.ID).Scan(&have, &deleted)
		if err != nil && !errors.Is(err, pgx.ErrNoRows) {
			return err
		}
		if !engine.MayReplace(expect, have, deleted != 0) {
			return fmt.Errorf("version %d was changed, version %d is the newest: %w", expect, have, store.ErrConflict)
		}
		t.Rev = rev
		_, err = tx.Exec(ctx, `INSERT INTO things (rev, kind, id, deleted, at, person, why, body) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
			t.Rev, t.Kind, t.ID, number(t.Deleted), micros(t.At), t.By, engine.Text(t.Why), engine.Blob(t.Body))
		return err
	})
	t.At = instant(micros(t.At))
	return t, err
}

func number(b bool) int64 {
	if b {
		return 1
	}
	return 0
}

const thingColumns = `rev, kind, id, deleted, at, person, why, body`

// Things returns the newest version of each thing that changed after a Rev, deleted
// ones too, in order of Rev.
func (s *Store) Things(ctx context.Context, after int64) ([]store.Thing, error) {
	return list(ctx, s, fmt.Sprintf("load what changed after version %d", after), thing,
		`SELECT `+thingColumns+` FROM things WHERE rev > $1 AND NOT EXISTS (SELECT 1 FROM things AS next WHERE next.kind = things.kind AND next.id = things.id AND next.rev > things.rev) ORDER BY rev`, after)
}

// ThingVersions returns every version of one thing, the oldest first.
func (s *Store) ThingVersions(ctx context.Context, kind, id string) ([]store.Thing, error) {
	return list(ctx, s, "load the versions of "+kind+" "+id, thing, `SELECT `+thingColumns+` FROM things WHERE kind = $1 AND id = $2 ORDER BY rev`, kind, id)
}

func thing(row pgx.CollectableRow) (t store.Thing, err error) {
	var at, deleted int64
	err = row.Scan(&t.Rev, &t.Kind, &t.ID, &deleted, &at, &t.By, &t.Why, &t.Body)
	t.At, t.Deleted, t.Body = instant(at), deleted != 0, engine.NoBlob(t.Body)
	return t, err
}
