package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/store"
	"plotwarden/store/engine"
)

// SaveRound writes what a round decided, in one transaction: the assessments
// and hours, their place in the history, and the messages. A message whose key
// is there already is left as it is. A round older than the latest one changes
// neither the latest nor the history's newer entries; a latest one that lies days
// ahead was written by a clock that has been put back since, and is replaced.
func (s *Store) SaveRound(ctx context.Context, r store.Round) error {
	what := "save round of " + r.Site
	body, err := engine.Round(&r)
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return s.change(ctx, what, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `INSERT INTO rounds (site, at, day, body) VALUES (?, ?, ?, ?)
			ON CONFLICT (site) DO UPDATE SET at = excluded.at, day = excluded.day, body = excluded.body
				WHERE excluded.at >= rounds.at OR rounds.at > excluded.at + ?`,
			r.Site, micros(r.At), int64(r.Day), body, maxWait.Microseconds()); err != nil {
			return err
		}
		if err := saveHistory(ctx, tx, &r); err != nil {
			return err
		}
		for _, m := range r.Messages {
			if err := addMessage(ctx, tx, m); err != nil {
				return err
			}
		}
		return nil
	})
}

func saveHistory(ctx context.Context, tx *sql.Tx, r *store.Round) error {
	var at int64
	var have []byte
	err := tx.QueryRowContext(ctx, `SELECT at, body FROM history WHERE site = ? AND day = ?`, r.Site, int64(r.Day)).Scan(&at, &have)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	body, at, err := engine.History(have, at, r)
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO history (site, day, at, body) VALUES (?, ?, ?, ?)
		ON CONFLICT (site, day) DO UPDATE SET at = excluded.at, body = excluded.body`, r.Site, int64(r.Day), at, body)
	return err
}

// LatestRound returns the newest round of a site without its messages, which
// Deliveries has. It is ErrNotFound before the first.
func (s *Store) LatestRound(ctx context.Context, site string) (store.Round, error) {
	what := "load the latest round of " + site
	var at, day int64
	var blob []byte
	err := s.read.QueryRowContext(ctx, `SELECT at, day, body FROM rounds WHERE site = ?`, site).Scan(&at, &day, &blob)
	if errors.Is(err, sql.ErrNoRows) {
		return store.Round{}, fmt.Errorf("%s: %w", what, store.ErrNotFound)
	}
	if err != nil {
		return store.Round{}, s.explain(what, err)
	}
	r := store.Round{Site: site, At: instant(at), Day: civil.Date(day)}
	if err := engine.OpenRound(blob, &r); err != nil {
		return store.Round{}, fmt.Errorf("%s: %w", what, err)
	}
	return r, nil
}

// AssessmentHistory returns the last assessment of each day of one key, without
// tracks, from one date to another, both included; a zero date leaves that end
// open. An empty key returns those of every key.
func (s *Store) AssessmentHistory(ctx context.Context, site, key string, from, to civil.Date) ([]plan.Assessment, error) {
	what := "load the history of " + site
	last := int64(to)
	if to.IsZero() {
		last = 1 << 31
	}
	rows, err := s.read.QueryContext(ctx, `SELECT day, body FROM history WHERE site = ? AND day BETWEEN ? AND ? ORDER BY day`, site, int64(from), last)
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	var out []plan.Assessment
	for rows.Next() {
		var day int64
		var blob []byte
		if err := rows.Scan(&day, &blob); err != nil {
			return nil, s.explain(what, err)
		}
		list, err := engine.OpenHistory(blob, key)
		if err != nil {
			return nil, fmt.Errorf("%s: %s: %w", what, civil.Date(day), err)
		}
		out = append(out, list...)
	}
	return out, s.explain(what, rows.Err())
}

func encode(v any) ([]byte, error) { return engine.Encode(v) }

func decode(blob []byte, v any) error { return engine.Decode(blob, v) }
