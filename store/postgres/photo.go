package postgres

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"plotwarden/store"
	"plotwarden/store/engine"
)

// AddPhoto keeps a picture. The same again is no error; another one under the same
// ID is ErrConflict.
func (s *Store) AddPhoto(ctx context.Context, p store.Photo) error {
	what := "keep photo " + p.ID
	if err := engine.CheckPhoto(p); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return s.addOnce(ctx, what, `INSERT INTO photos (id, site, person, at, type, width, height, body) VALUES ($1, $2, $3, $4, $5, $6, $7, $8) ON CONFLICT (id) DO NOTHING`,
		`SELECT count(*) FROM photos WHERE id = $1 AND site = $2 AND person = $3 AND at = $4 AND type = $5 AND width = $6 AND height = $7 AND body = $8`,
		p.ID, p.Site, p.By, micros(p.At), p.Type, p.Width, p.High, p.Body)
}

// addOnce inserts a row. Where its key is there already, count must find the row
// with the same contents.
func (s *Store) addOnce(ctx context.Context, what, insert, count string, args ...any) error {
	return s.change(ctx, what, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, insert, args...)
		if err != nil || tag.RowsAffected() > 0 {
			return err
		}
		var n int
		if err := tx.QueryRow(ctx, count, args...).Scan(&n); err != nil {
			return err
		}
		if n == 0 {
			return store.ErrConflict
		}
		return nil
	})
}

// Photo returns one picture, or ErrNotFound.
func (s *Store) Photo(ctx context.Context, id string) (store.Photo, error) {
	return first(s.photos(ctx, "load photo "+id, `body FROM photos WHERE id = $1`, id))("load photo " + id)
}

// Photos returns the pictures of a site without their bodies, in order of time and
// ID.
func (s *Store) Photos(ctx context.Context, site string) ([]store.Photo, error) {
	return s.photos(ctx, "load photos of "+site, `NULL::bytea FROM photos WHERE site = $1 ORDER BY at, id`, site)
}

func (s *Store) photos(ctx context.Context, what, rest, arg string) ([]store.Photo, error) {
	return list(ctx, s, what, func(row pgx.CollectableRow) (p store.Photo, err error) {
		var at int64
		err = row.Scan(&p.ID, &p.Site, &p.By, &at, &p.Type, &p.Width, &p.High, &p.Body)
		p.At = instant(at)
		return p, err
	}, `SELECT id, site, person, at, type, width, height, `+rest, arg)
}

// AddTuning keeps one entry of a region's changes. The same again is no error;
// another one under the same ID is ErrConflict.
func (s *Store) AddTuning(ctx context.Context, t store.Tuning) error {
	what := "keep change " + t.ID + " of " + t.Region
	if err := engine.CheckTuning(t); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return s.addOnce(ctx, what, `INSERT INTO tunings (id, region, at, person, undoes, body) VALUES ($1, $2, $3, $4, $5, $6) ON CONFLICT (id) DO NOTHING`,
		`SELECT count(*) FROM tunings WHERE id = $1 AND region = $2 AND at = $3 AND person = $4 AND undoes = $5 AND body = $6`,
		t.ID, t.Region, micros(t.At), t.By, t.Undoes, t.Body)
}

// Tunings returns the changes of a region, or of all when it is empty, in order of
// time and ID.
func (s *Store) Tunings(ctx context.Context, region string) ([]store.Tuning, error) {
	return list(ctx, s, "load the changes of "+region, func(row pgx.CollectableRow) (t store.Tuning, err error) {
		var at int64
		err = row.Scan(&t.ID, &t.Region, &at, &t.By, &t.Undoes, &t.Body)
		t.At = instant(at)
		return t, err
	}, `SELECT id, region, at, person, undoes, body FROM tunings WHERE $1 = '' OR region = $1 ORDER BY at, id`, region)
}
