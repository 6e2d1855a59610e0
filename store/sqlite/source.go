package sqlite

import (
	"context"

	"plotwarden/store"
)

// SetSource records how a weather source is doing for a site, in place of what
// was recorded before.
func (s *Store) SetSource(ctx context.Context, st store.SourceStatus) error {
	_, err := s.exec(ctx, "record source "+st.Source+" of "+st.Site, `INSERT INTO sources (site, source, last_try, last_good, last_error, cause, consecutive, elevation) VALUES (?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (site, source) DO UPDATE SET last_try = excluded.last_try, last_good = excluded.last_good,
			last_error = excluded.last_error, cause = excluded.cause, consecutive = excluded.consecutive, elevation = excluded.elevation`,
		st.Site, st.Source, micros(st.LastTry), micros(st.LastGood), st.LastErr, st.Cause, st.Consecutive, st.Elevation)
	return err
}

// Sources returns the sources of a site in order of name.
func (s *Store) Sources(ctx context.Context, site string) ([]store.SourceStatus, error) {
	what := "load sources of " + site
	rows, err := s.read.QueryContext(ctx, `SELECT source, last_try, last_good, last_error, cause, consecutive, elevation FROM sources WHERE site = ? ORDER BY source`, site)
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	var out []store.SourceStatus
	for rows.Next() {
		st := store.SourceStatus{Site: site}
		var try, good int64
		if err := rows.Scan(&st.Source, &try, &good, &st.LastErr, &st.Cause, &st.Consecutive, &st.Elevation); err != nil {
			return nil, s.explain(what, err)
		}
		st.LastTry, st.LastGood = instant(try), instant(good)
		out = append(out, st)
	}
	return out, s.explain(what, rows.Err())
}
