package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"

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
	p.At = instant(micros(p.At))
	return s.change(ctx, what, func(tx *sql.Tx) error {
		res, err := tx.ExecContext(ctx, `INSERT INTO photos (id, site, person, at, type, width, height, body) VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING`,
			p.ID, p.Site, p.By, micros(p.At), p.Type, p.Width, p.High, p.Body)
		if err := changed(res, err, errSame); err != errSame {
			return err
		}
		have := store.Photo{ID: p.ID}
		var at int64
		if err := tx.QueryRowContext(ctx, `SELECT site, person, at, type, width, height, body FROM photos WHERE id = ?`, p.ID).
			Scan(&have.Site, &have.By, &at, &have.Type, &have.Width, &have.High, &have.Body); err != nil {
			return err
		}
		have.At = instant(at)
		same := bytes.Equal(have.Body, p.Body)
		have.Body, p.Body = nil, nil
		if !same || fmt.Sprint(have) != fmt.Sprint(p) {
			return store.ErrConflict
		}
		return nil
	})
}

// Photo returns one picture, or ErrNotFound.
func (s *Store) Photo(ctx context.Context, id string) (store.Photo, error) {
	return first(s.photos(ctx, "load photo "+id, `body FROM photos WHERE id = ?`, id))("load photo " + id)
}

// Photos returns the pictures of a site without their bodies, in order of time and
// ID.
func (s *Store) Photos(ctx context.Context, site string) ([]store.Photo, error) {
	return s.photos(ctx, "load photos of "+site, `NULL FROM photos WHERE site = ? ORDER BY at, id`, site)
}

func (s *Store) photos(ctx context.Context, what, rest, arg string) ([]store.Photo, error) {
	rows, err := s.read.QueryContext(ctx, `SELECT id, site, person, at, type, width, height, `+rest, arg)
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	var out []store.Photo
	for rows.Next() {
		var p store.Photo
		var at int64
		if err := rows.Scan(&p.ID, &p.Site, &p.By, &at, &p.Type, &p.Width, &p.High, &p.Body); err != nil {
			return nil, s.explain(what, err)
		}
		p.At = instant(at)
		out = append(out, p)
	}
	return out, s.explain(what, rows.Err())
}
