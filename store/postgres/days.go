package postgres

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"github.com/jackc/pgx/v5"

	"plotwarden/civil"
	"plotwarden/store/pack"
	"plotwarden/weather"
)

// SaveDays puts days into the daily history of a site, by the rules of
// pack.MergeDays: newer wins, missing changes nothing, observed days are changed
// by observed ones only.
func (s *Store) SaveDays(ctx context.Context, site string, days []weather.Day) error {
	byYear := map[int][]weather.Day{}
	for _, d := range days {
		if d.Date.IsZero() {
			return fmt.Errorf("save days of %s: a day without a date", site)
		}
		byYear[d.Date.Year()] = append(byYear[d.Date.Year()], d)
	}
	return s.change(ctx, "save days of "+site, func(tx pgx.Tx) error {
		for _, year := range slices.Sorted(maps.Keys(byYear)) {
			// As with hours: the row is locked, there or not, before it is read.
			if _, err := tx.Exec(ctx, `INSERT INTO days (site, year, days) VALUES ($1, $2, '') ON CONFLICT (site, year) DO UPDATE SET days = days.days WHERE false`, site, year); err != nil {
				return err
			}
			var blob []byte
			if err := tx.QueryRow(ctx, `SELECT days FROM days WHERE site = $1 AND year = $2`, site, year).Scan(&blob); err != nil {
				return err
			}
			var have []weather.Day
			if len(blob) > 0 {
				var err error
				if have, err = pack.OpenDays(blob); err != nil {
					return fmt.Errorf("year %d: %w", year, err)
				}
			}
			if _, err := tx.Exec(ctx, `UPDATE days SET days = $3 WHERE site = $1 AND year = $2`, site, year, pack.Days(pack.MergeDays(have, byYear[year]))); err != nil {
				return err
			}
		}
		return nil
	})
}

// LoadDays returns the kept days of a site from one date to another, both
// included, in order; a zero date leaves that end open. Days that were never saved
// are not in the list.
func (s *Store) LoadDays(ctx context.Context, site string, from, to civil.Date) ([]weather.Day, error) {
	first, last := -1<<31, 1<<31
	if !from.IsZero() {
		first = from.Year()
	}
	if !to.IsZero() {
		last = to.Year()
	}
	years, err := list(ctx, s, "load days of "+site, func(row pgx.CollectableRow) ([]weather.Day, error) {
		var year int
		var blob []byte
		if err := row.Scan(&year, &blob); err != nil {
			return nil, err
		}
		days, err := pack.OpenDays(blob)
		if err != nil {
			return nil, fmt.Errorf("year %d: %w", year, err)
		}
		return days, nil
	}, `SELECT year, days FROM days WHERE site = $1 AND year BETWEEN $2 AND $3 ORDER BY year`, site, first, last)
	if err != nil {
		return nil, err
	}
	var out []weather.Day
	for _, d := range slices.Concat(years...) {
		if (from.IsZero() || d.Date >= from) && (to.IsZero() || d.Date <= to) {
			out = append(out, d)
		}
	}
	return out, nil
}
