package postgres

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"plotwarden/garden"
	"plotwarden/store/engine"
)

// AddScouting logs one look at the plants. The same record again is no error;
// another one under the same ID is ErrConflict.
func (s *Store) AddScouting(ctx context.Context, x garden.Scouting) error {
	return addEntry(ctx, s, "log scouting "+x.ID, "scoutings", "day", x.ID, x.Site, int64(x.Date), x)
}

// Scoutings returns what was logged for a site, in order of date and ID.
func (s *Store) Scoutings(ctx context.Context, site string) ([]garden.Scouting, error) {
	return list(ctx, s, "load scoutings of "+site, entry[garden.Scouting], `SELECT body FROM scoutings WHERE site = $1 ORDER BY day, id`, site)
}

// AddTreatment logs one treatment, under the same rule as AddScouting.
func (s *Store) AddTreatment(ctx context.Context, x garden.Treatment) error {
	x.At = x.At.UTC()
	return addEntry(ctx, s, "log treatment "+x.ID, "treatments", "at", x.ID, x.Site, micros(x.At), x)
}

// Treatments returns what was done on a site, in order of time and ID: what
// AddTreatment logged and what follows from the records that stand.
func (s *Store) Treatments(ctx context.Context, site string) ([]garden.Treatment, error) {
	plain, err := s.PlainTreatments(ctx, site)
	if err != nil {
		return nil, err
	}
	full, err := s.Records(ctx, site)
	if err != nil {
		return nil, err
	}
	return garden.Done(plain, full), nil
}

// AddRecord logs one treatment with all its fields, or a correction of one, under
// the same rule as AddScouting.
func (s *Store) AddRecord(ctx context.Context, x garden.Record) error {
	x = engine.UTCRecord(x)
	return addEntry(ctx, s, "log record "+x.ID, "records", "at", x.ID, x.Site, micros(x.Start), x)
}

// Records returns what AddRecord logged for a site, corrected entries too, in order
// of start and ID.
func (s *Store) Records(ctx context.Context, site string) ([]garden.Record, error) {
	return list(ctx, s, "load records of "+site, entry[garden.Record], `SELECT body FROM records WHERE site = $1 ORDER BY at, id`, site)
}

func entry[T any](row pgx.CollectableRow) (x T, err error) {
	var body []byte
	if err := row.Scan(&body); err != nil {
		return x, err
	}
	return engine.OpenEntry[T](body)
}

func addEntry[T any](ctx context.Context, s *Store, what, table, order, id, site string, when int64, x T) error {
	if id == "" {
		return fmt.Errorf("%s: it has no id", what)
	}
	body, err := engine.Entry(x)
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return s.change(ctx, what, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `INSERT INTO `+table+` (id, site, `+order+`, body) VALUES ($1, $2, $3, $4) ON CONFLICT (id) DO NOTHING`, id, site, when, string(body))
		if err != nil || tag.RowsAffected() > 0 {
			return err
		}
		var have string
		if err := tx.QueryRow(ctx, `SELECT body FROM `+table+` WHERE id = $1`, id).Scan(&have); err != nil {
			return err
		}
		return engine.SameEntry[T]([]byte(have), body)
	})
}
