package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"plotwarden/civil"
	"plotwarden/store"
)

// Choose records a choice in place of an earlier one with the same key.
func (s *Store) Choose(ctx context.Context, c store.Choice) error {
	what := "record the choice of " + c.Person
	if c.Person == "" || c.Site == "" || c.Kind == "" {
		return fmt.Errorf("%s: it needs a person, a site and a kind", what)
	}
	if c.Seen == nil {
		c.Seen = []byte{}
	}
	_, err := s.exec(ctx, what, `INSERT INTO choices (person, site, kind, planting, threat, channel, at, until, seen) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT DO UPDATE SET at = excluded.at, until = excluded.until, seen = excluded.seen`,
		c.Person, c.Site, c.Kind, c.Planting, c.Threat, c.Channel, micros(c.At), int64(c.Until), c.Seen)
	return err
}

// TakeBack removes the choice with the key of c. None there is no error.
func (s *Store) TakeBack(ctx context.Context, c store.Choice) error {
	_, err := s.exec(ctx, "take back the choice of "+c.Person, `DELETE FROM choices WHERE person = ? AND site = ? AND kind = ? AND planting = ? AND threat = ? AND channel = ?`,
		c.Person, c.Site, c.Kind, c.Planting, c.Threat, c.Channel)
	return err
}

// Choices returns what was chosen on a site, in order of person, kind, planting,
// threat and channel.
func (s *Store) Choices(ctx context.Context, site string) ([]store.Choice, error) {
	what := "load choices of " + site
	rows, err := s.read.QueryContext(ctx, `SELECT person, kind, planting, threat, channel, at, until, seen FROM choices WHERE site = ?
		ORDER BY person, kind, planting, threat, channel`, site)
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	var out []store.Choice
	for rows.Next() {
		c := store.Choice{Site: site}
		var at, until int64
		if err := rows.Scan(&c.Person, &c.Kind, &c.Planting, &c.Threat, &c.Channel, &at, &until, &c.Seen); err != nil {
			return nil, s.explain(what, err)
		}
		c.At, c.Until = instant(at), civil.Date(until)
		out = append(out, c)
	}
	return out, s.explain(what, rows.Err())
}

// Subscribe keeps a browser of a person, in place of what was kept under its ID.
func (s *Store) Subscribe(ctx context.Context, x store.Subscription) error {
	what := "keep a subscription of " + x.Person
	if x.Person == "" || x.ID == "" || len(x.Body) == 0 {
		return fmt.Errorf("%s: it needs a person, an id and a body", what)
	}
	_, err := s.exec(ctx, what, `INSERT INTO subscriptions (person, id, body, added) VALUES (?, ?, ?, ?)
		ON CONFLICT DO UPDATE SET body = excluded.body, added = excluded.added`, x.Person, x.ID, x.Body, micros(x.Added))
	return err
}

// Unsubscribe removes a subscription. None there is no error.
func (s *Store) Unsubscribe(ctx context.Context, person, id string) error {
	_, err := s.exec(ctx, "remove a subscription of "+person, `DELETE FROM subscriptions WHERE person = ? AND id = ?`, person, id)
	return err
}

// Subscriptions returns the browsers of a person in order of ID; of everyone,
// by person, when person is empty.
func (s *Store) Subscriptions(ctx context.Context, person string) ([]store.Subscription, error) {
	what := "load subscriptions of " + person
	rows, err := s.read.QueryContext(ctx, `SELECT person, id, body, added FROM subscriptions WHERE ?1 = '' OR person = ?1 ORDER BY person, id`, person)
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	var out []store.Subscription
	for rows.Next() {
		var x store.Subscription
		var added int64
		if err := rows.Scan(&x.Person, &x.ID, &x.Body, &added); err != nil {
			return nil, s.explain(what, err)
		}
		x.Added = instant(added)
		out = append(out, x)
	}
	return out, s.explain(what, rows.Err())
}

// Kept returns what was kept under a name, or ErrNotFound.
func (s *Store) Kept(ctx context.Context, name string) ([]byte, error) {
	var b []byte
	err := s.read.QueryRowContext(ctx, `SELECT body FROM kept WHERE name = ?`, name).Scan(&b)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, fmt.Errorf("load %s: %w", name, store.ErrNotFound)
	}
	return b, s.explain("load "+name, err)
}

// Keep keeps a small thing under a name, in place of what was there.
func (s *Store) Keep(ctx context.Context, name string, body []byte) error {
	if body == nil {
		body = []byte{}
	}
	_, err := s.exec(ctx, "keep "+name, `INSERT INTO kept (name, body) VALUES (?, ?) ON CONFLICT DO UPDATE SET body = excluded.body`, name, body)
	return err
}

// KeepFirst keeps body under a name unless there is something already, and
// returns what is there after it: of several processes that start at once all
// get the same.
func (s *Store) KeepFirst(ctx context.Context, name string, body []byte) ([]byte, error) {
	var out []byte
	err := s.change(ctx, "keep "+name, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `INSERT INTO kept (name, body) VALUES (?, ?) ON CONFLICT DO NOTHING`, name, body); err != nil {
			return err
		}
		return tx.QueryRowContext(ctx, `SELECT body FROM kept WHERE name = ?`, name).Scan(&out)
	})
	return out, err
}

// AddMessages puts messages that belong to no round into the outbox. A message
// whose key is there already is left as it is.
func (s *Store) AddMessages(ctx context.Context, list []store.Message) error {
	if len(list) == 0 {
		return nil
	}
	return s.change(ctx, "put messages into the outbox", func(tx *sql.Tx) error {
		for _, m := range list {
			if err := addMessage(ctx, tx, m); err != nil {
				return err
			}
		}
		return nil
	})
}
