package postgres

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"plotwarden/civil"
	"plotwarden/store"
	"plotwarden/store/engine"
)

// Choose records a choice in place of an earlier one with the same key.
func (s *Store) Choose(ctx context.Context, c store.Choice) error {
	what := "record the choice of " + c.Person
	if c.Person == "" || c.Site == "" || c.Kind == "" {
		return fmt.Errorf("%s: it needs a person, a site and a kind", what)
	}
	_, err := s.exec(ctx, what, `INSERT INTO choices (person, site, kind, planting, threat, channel, at, until, seen) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
		ON CONFLICT (person, site, kind, planting, threat, channel) DO UPDATE SET at = excluded.at, until = excluded.until, seen = excluded.seen`,
		c.Person, c.Site, c.Kind, c.Planting, c.Threat, c.Channel, micros(c.At), int64(c.Until), engine.Blob(c.Seen))
	return err
}

// TakeBack removes the choice with the key of c. None there is no error.
func (s *Store) TakeBack(ctx context.Context, c store.Choice) error {
	_, err := s.exec(ctx, "take back the choice of "+c.Person, `DELETE FROM choices WHERE person = $1 AND site = $2 AND kind = $3 AND planting = $4 AND threat = $5 AND channel = $6`,
		c.Person, c.Site, c.Kind, c.Planting, c.Threat, c.Channel)
	return err
}

// Choices returns what was chosen on a site, in order of person, kind, planting,
// threat and channel.
func (s *Store) Choices(ctx context.Context, site string) ([]store.Choice, error) {
	return list(ctx, s, "load choices of "+site, func(row pgx.CollectableRow) (store.Choice, error) {
		c := store.Choice{Site: site}
		var at, until int64
		err := row.Scan(&c.Person, &c.Kind, &c.Planting, &c.Threat, &c.Channel, &at, &until, &c.Seen)
		c.At, c.Until, c.Seen = instant(at), civil.Date(until), engine.NoBlob(c.Seen)
		return c, err
	}, `SELECT person, kind, planting, threat, channel, at, until, seen FROM choices WHERE site = $1 ORDER BY person, kind, planting, threat, channel`, site)
}

// Subscribe keeps a browser of a person, in place of what was kept under its ID.
func (s *Store) Subscribe(ctx context.Context, x store.Subscription) error {
	what := "keep a subscription of " + x.Person
	if x.Person == "" || x.ID == "" || len(x.Body) == 0 {
		return fmt.Errorf("%s: it needs a person, an id and a body", what)
	}
	_, err := s.exec(ctx, what, `INSERT INTO subscriptions (person, id, body, added) VALUES ($1, $2, $3, $4)
		ON CONFLICT (person, id) DO UPDATE SET body = excluded.body, added = excluded.added`, x.Person, x.ID, x.Body, micros(x.Added))
	return err
}

// Unsubscribe removes a subscription. None there is no error.
func (s *Store) Unsubscribe(ctx context.Context, person, id string) error {
	_, err := s.exec(ctx, "remove a subscription of "+person, `DELETE FROM subscriptions WHERE person = $1 AND id = $2`, person, id)
	return err
}

// Subscriptions returns the browsers of a person in order of ID; of everyone, by
// person, when person is empty.
func (s *Store) Subscriptions(ctx context.Context, person string) ([]store.Subscription, error) {
	return list(ctx, s, "load subscriptions of "+person, func(row pgx.CollectableRow) (x store.Subscription, err error) {
		var added int64
		err = row.Scan(&x.Person, &x.ID, &x.Body, &added)
		x.Added = instant(added)
		return x, err
	}, `SELECT person, id, body, added FROM subscriptions WHERE $1 = '' OR person = $1 ORDER BY person, id`, person)
}

// Kept returns what was kept under a name, or ErrNotFound.
func (s *Store) Kept(ctx context.Context, name string) ([]byte, error) {
	what := "load " + name
	return first(list(ctx, s, what, func(row pgx.CollectableRow) (b []byte, err error) { return b, row.Scan(&b) }, `SELECT body FROM kept WHERE name = $1`, name))(what)
}

// Keep keeps a small thing under a name, in place of what was there.
func (s *Store) Keep(ctx context.Context, name string, body []byte) error {
	_, err := s.exec(ctx, "keep "+name, `INSERT INTO kept (name, body) VALUES ($1, $2) ON CONFLICT (name) DO UPDATE SET body = excluded.body`, name, engine.Blob(body))
	return err
}

// KeepFirst keeps body under a name unless there is something already, and returns
// what is there after it: of several processes that start at once all get the
// same.
func (s *Store) KeepFirst(ctx context.Context, name string, body []byte) (out []byte, err error) {
	err = s.change(ctx, "keep "+name, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `INSERT INTO kept (name, body) VALUES ($1, $2) ON CONFLICT (name) DO NOTHING`, name, engine.Blob(body)); err != nil {
			return err
		}
		return tx.QueryRow(ctx, `SELECT body FROM kept WHERE name = $1`, name).Scan(&out)
	})
	return out, err
}
