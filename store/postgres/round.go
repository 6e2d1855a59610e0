package postgres

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/store"
	"plotwarden/store/engine"
)

// SaveRound writes what a round decided, in one transaction: the assessments and
// hours, their place in the history, and the messages. A message whose key is
// there already is left as it is. A round older than the latest one changes
// neither the latest nor the history's newer entries; a latest one that lies days
// ahead was written by a clock that has been put back since, and is replaced.
func (s *Store) SaveRound(ctx context.Context, r store.Round) error {
	what := "save round of " + r.Site
	body, err := engine.Round(&r)
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return s.change(ctx, what, func(tx pgx.Tx) error {
		// This locks the site's row also where it does not change it, so that rounds
		// of one site come after each other.
		if _, err := tx.Exec(ctx, `INSERT INTO rounds (site, at, day, body) VALUES ($1, $2, $3, $4)
			ON CONFLICT (site) DO UPDATE SET at = excluded.at, day = excluded.day, body = excluded.body
				WHERE excluded.at >= rounds.at OR rounds.at > excluded.at + $5`,
			r.Site, micros(r.At), int64(r.Day), body, maxWait); err != nil {
			return err
		}
		if err := saveHistory(ctx, tx, &r); err != nil {
			return err
		}
		return addMessages(ctx, tx, r.Messages)
	})
}

// saveHistory puts the round's assessments into the row of its day.
func saveHistory(ctx context.Context, tx pgx.Tx, r *store.Round) error {
	var at int64
	var have []byte
	err := tx.QueryRow(ctx, `SELECT at, body FROM history WHERE site = $1 AND day = $2`, r.Site, int64(r.Day)).Scan(&at, &have)
	if err != nil && !errors.Is(err, pgx.ErrNoRows) {
		return err
	}
	body, at, err := engine.History(have, at, r)
	if err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `INSERT INTO history (site, day, at, body) VALUES ($1, $2, $3, $4)
		ON CONFLICT (site, day) DO UPDATE SET at = excluded.at, body = excluded.body`, r.Site, int64(r.Day), at, body)
	return err
}

// LatestRound returns the newest round of a site without its messages, which
// Deliveries has. It is ErrNotFound before the first.
func (s *Store) LatestRound(ctx context.Context, site string) (store.Round, error) {
	what := "load the latest round of " + site
	return first(list(ctx, s, what, func(row pgx.CollectableRow) (store.Round, error) {
		r := store.Round{Site: site}
		var at, day int64
		var blob []byte
		if err := row.Scan(&at, &day, &blob); err != nil {
			return r, err
		}
		r.At, r.Day = instant(at), civil.Date(day)
		return r, engine.OpenRound(blob, &r)
	}, `SELECT at, day, body FROM rounds WHERE site = $1`, site))(what)
}

// AssessmentHistory returns the last assessment of each day of one key, without
// tracks, from one date to another, both included; a zero date leaves that end
// open. An empty key returns those of every key.
func (s *Store) AssessmentHistory(ctx context.Context, site, key string, from, to civil.Date) ([]plan.Assessment, error) {
	last := int64(to)
	if to.IsZero() {
		last = 1 << 31
	}
	days, err := list(ctx, s, "load the history of "+site, func(row pgx.CollectableRow) ([]plan.Assessment, error) {
		var day int64
		var blob []byte
		if err := row.Scan(&day, &blob); err != nil {
			return nil, err
		}
		list, err := engine.OpenHistory(blob, key)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", civil.Date(day), err)
		}
		return list, nil
	}, `SELECT day, body FROM history WHERE site = $1 AND day BETWEEN $2 AND $3 ORDER BY day`, site, int64(from), last)
	return slices.Concat(days...), err
}
