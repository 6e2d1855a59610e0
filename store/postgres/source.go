package postgres

import (
	"context"

	"github.com/jackc/pgx/v5"

	"plotwarden/store"
	"plotwarden/store/engine"
)

// SetSource records how a weather source is doing for a site, in place of what was
// recorded before.
func (s *Store) SetSource(ctx context.Context, st store.SourceStatus) error {
	_, err := s.exec(ctx, "record source "+st.Source+" of "+st.Site, `INSERT INTO sources (site, source, last_try, last_good, last_error, cause, consecutive, elevation) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
		ON CONFLICT (site, source) DO UPDATE SET last_try = excluded.last_try, last_good = excluded.last_good,
			last_error = excluded.last_error, cause = excluded.cause, consecutive = excluded.consecutive, elevation = excluded.elevation`,
		st.Site, st.Source, micros(st.LastTry), micros(st.LastGood), engine.Text(st.LastErr), engine.Text(st.Cause), st.Consecutive, st.Elevation)
	return err
}

// Sources returns the sources of a site in order of name.
func (s *Store) Sources(ctx context.Context, site string) ([]store.SourceStatus, error) {
	return list(ctx, s, "load sources of "+site, func(row pgx.CollectableRow) (store.SourceStatus, error) {
		st := store.SourceStatus{Site: site}
		var try, good int64
		err := row.Scan(&st.Source, &try, &good, &st.LastErr, &st.Cause, &st.Consecutive, &st.Elevation)
		st.LastTry, st.LastGood = instant(try), instant(good)
		return st, err
	}, `SELECT source, last_try, last_good, last_error, cause, consecutive, elevation FROM sources WHERE site = $1 ORDER BY source`, site)
}
