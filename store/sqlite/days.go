package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"plotwarden/civil"
	"plotwarden/store/pack"
	"plotwarden/weather"
)

// SaveDays puts days into the daily history of a site, by the rules of
// pack.MergeDays: newer wins, missing changes nothing, observed days are
// changed by observed ones only.
func (s *Store) SaveDays(ctx context.Context, site string, days []weather.Day) error {
	byYear := map[int][]weather.Day{}
	for _, d := range days {
		if d.Date.IsZero() {
			return fmt.Errorf("save days of %s: a day without a date", site)
		}
		byYear[d.Date.Year()] = append(byYear[d.Date.Year()], d)
	}
	return s.change(ctx, "save days of "+site, func(tx *sql.Tx) error {
		for year, in := range byYear {
			var blob []byte
			var have []weather.Day
			err := tx.QueryRowContext(ctx, `SELECT days FROM days WHERE site = ? AND year = ?`, site, year).Scan(&blob)
			switch {
			case errors.Is(err, sql.ErrNoRows):
			case err != nil:
				return err
			default:
				if have, err = pack.OpenDays(blob); err != nil {
					return fmt.Errorf("year %d: %w", year, err)
				}
			}
			if _, err := tx.ExecContext(ctx, `INSERT INTO days (site, year, days) VALUES (?, ?, ?)
				ON CONFLICT (site, year) DO UPDATE SET days = excluded.days`, site, year, pack.Days(pack.MergeDays(have, in))); err != nil {
				return err
			}
		}
		return nil
	})
}

// LoadDays returns the kept days of a site from one date to another, both
// included, in order; a zero date leaves that end open. Days that were never
// saved are not in the list.
func (s *Store) LoadDays(ctx context.Context, site string, from, to civil.Date) ([]weather.Day, error) {
	what := "load days of " + site
	first, last := -1<<31, 1<<31
	if !from.IsZero() {
		first = from.Year()
	}
	if !to.IsZero() {
		last = to.Year()
	}
	rows, err := s.read.QueryContext(ctx, `SELECT year, days FROM days WHERE site = ? AND year BETWEEN ? AND ? ORDER BY year`, site, first, last)
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	var out []weather.Day
	for rows.Next() {
		var year int
		var blob []byte
		if err := rows.Scan(&year, &blob); err != nil {
			return nil, s.explain(what, err)
		}
		days, err := pack.OpenDays(blob)
		if err != nil {
			return nil, fmt.Errorf("%s: year %d: %w", what, year, err)
		}
		for _, d := range days {
			if (from.IsZero() || d.Date >= from) && (to.IsZero() || d.Date <= to) {
				out = append(out, d)
			}
		}
	}
	return out, s.explain(what, rows.Err())
}
