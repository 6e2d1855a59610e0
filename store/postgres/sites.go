package postgres

import (
	"context"

	"plotwarden/garden"
)

// LogSites returns the sites that have entries in the log, in order.
func (s *Store) LogSites(ctx context.Context) ([]string, error) {
	return list(ctx, s, "list the sites of the log", text, `SELECT site FROM scoutings UNION SELECT site FROM treatments UNION SELECT site FROM records ORDER BY site`)
}

// PlainTreatments returns what AddTreatment logged for a site, in order of time and
// ID, without what follows from records.
func (s *Store) PlainTreatments(ctx context.Context, site string) ([]garden.Treatment, error) {
	return list(ctx, s, "load treatments of "+site, entry[garden.Treatment], `SELECT body FROM treatments WHERE site = $1 ORDER BY at, id`, site)
}
