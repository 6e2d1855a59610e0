package postgres

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"plotwarden/store"
	"plotwarden/store/engine"
)

const grantColumns = `hash, id, kind, person, site, name, body, created, seen, expires, ended`

// AddGrant keeps a new grant. One whose hash or ID is there already is ErrConflict.
func (s *Store) AddGrant(ctx context.Context, g store.Grant) error {
	what := "keep a " + g.Kind + " of " + g.Person
	if err := engine.CheckGrant(g); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	tag, err := s.exec(ctx, what, `INSERT INTO grants (`+grantColumns+`) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11) ON CONFLICT DO NOTHING`,
		g.Hash, g.ID, g.Kind, g.Person, g.Site, engine.Text(g.Name), engine.Blob(g.Body), micros(g.Created), micros(g.Seen), micros(g.Expires), micros(g.Ended))
	if err == nil && tag.RowsAffected() == 0 {
		return fmt.Errorf("%s: %w", what, store.ErrConflict)
	}
	return err
}

// Grant returns the grant of a hash, whether it holds or not, or ErrNotFound.
func (s *Store) Grant(ctx context.Context, hash string) (store.Grant, error) {
	return first(s.grants(ctx, ` WHERE hash = $1`, hash))("load a grant")
}

// Grants returns the grants of a kind, person and site, in order of creation and
// ID; an empty part stands for any.
func (s *Store) Grants(ctx context.Context, kind, person, site string) ([]store.Grant, error) {
	return s.grants(ctx, ` WHERE ($1 = '' OR kind = $1) AND ($2 = '' OR person = $2) AND ($3 = '' OR site = $3) ORDER BY created, id`, kind, person, site)
}

func (s *Store) grants(ctx context.Context, rest string, args ...any) ([]store.Grant, error) {
	return list(ctx, s, "load grants", func(row pgx.CollectableRow) (g store.Grant, err error) {
		var created, seen, expires, ended int64
		err = row.Scan(&g.Hash, &g.ID, &g.Kind, &g.Person, &g.Site, &g.Name, &g.Body, &created, &seen, &expires, &ended)
		g.Created, g.Seen, g.Expires, g.Ended, g.Body = instant(created), instant(seen), instant(expires), instant(ended), engine.NoBlob(g.Body)
		return g, err
	}, `SELECT `+grantColumns+` FROM grants`+rest, args...)
}

// SeeGrant notes when a grant was used; an earlier use than the noted one changes
// nothing. ErrNotFound says that there is no grant of the hash.
func (s *Store) SeeGrant(ctx context.Context, hash string, at time.Time) error {
	const what = "note the use of a grant"
	tag, err := s.exec(ctx, what, `UPDATE grants SET seen = greatest(seen, $1) WHERE hash = $2`, micros(at), hash)
	if err == nil && tag.RowsAffected() == 0 {
		return fmt.Errorf("%s: %w", what, store.ErrNotFound)
	}
	return err
}

// EndGrant ends a grant. ErrTaken says that it was ended before, ErrNotFound that
// there is none: of several that would end it, one succeeds.
func (s *Store) EndGrant(ctx context.Context, id string, at time.Time) error {
	return s.change(ctx, "end grant "+id, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `UPDATE grants SET ended = $1 WHERE id = $2 AND ended = $3`, micros(at), id, engine.Never)
		if err != nil || tag.RowsAffected() > 0 {
			return err
		}
		var n int
		if err := tx.QueryRow(ctx, `SELECT count(*) FROM grants WHERE id = $1`, id).Scan(&n); err != nil {
			return err
		}
		if n == 0 {
			return store.ErrNotFound
		}
		return store.ErrTaken
	})
}

// PruneGrants removes the grants that expired or were ended before a time.
func (s *Store) PruneGrants(ctx context.Context, before time.Time) error {
	_, err := s.exec(ctx, "remove old grants", `DELETE FROM grants WHERE ended <> $1 AND ended < $2 OR expires <> $1 AND expires < $2`, engine.Never, micros(before))
	return err
}
