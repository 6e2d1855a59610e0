package sqlite

import (
	"context"

	"plotwarden/garden"
)

// LogSites returns the sites that have entries in the log, in order.
func (s *Store) LogSites(ctx context.Context) ([]string, error) {
	const what = "list the sites of the log"
	rows, err := s.read.QueryContext(ctx, `SELECT site FROM scoutings UNION SELECT site FROM treatments UNION SELECT site FROM records ORDER BY site`)
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	var out []string
	for rows.Next() {
		var site string
		if err := rows.Scan(&site); err != nil {
			return nil, s.explain(what, err)
		}
		out = append(out, site)
	}
	return out, s.explain(what, rows.Err())
}

// PlainTreatments returns what AddTreatment logged for a site, in order of time and
// ID, without what follows from records.
func (s *Store) PlainTreatments(ctx context.Context, site string) ([]garden.Treatment, error) {
	return records[garden.Treatment](ctx, s, "load treatments of "+site, `SELECT body FROM treatments WHERE site = ? ORDER BY at, id`, site)
}
