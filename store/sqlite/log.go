package sqlite

import (
	"context"
	"database/sql"
	"fmt"

	"plotwarden/garden"
	"plotwarden/store/engine"
)

// AddScouting logs one look at the plants. The same record again is no error;
// another one under the same ID is ErrConflict.
func (s *Store) AddScouting(ctx context.Context, x garden.Scouting) error {
	return addRecord(ctx, s, "log scouting "+x.ID, "scoutings", x.ID, x, `INSERT INTO scoutings (id, site, day, body) VALUES (?, ?, ?, ?) ON CONFLICT (id) DO NOTHING`, x.Site, int64(x.Date))
}

// Scoutings returns what was logged for a site, in order of date and ID.
func (s *Store) Scoutings(ctx context.Context, site string) ([]garden.Scouting, error) {
	return records[garden.Scouting](ctx, s, "load scoutings of "+site, `SELECT body FROM scoutings WHERE site = ? ORDER BY day, id`, site)
}

// AddTreatment logs one treatment, under the same rule as AddScouting.
func (s *Store) AddTreatment(ctx context.Context, x garden.Treatment) error {
	x.At = x.At.UTC()
	return addRecord(ctx, s, "log treatment "+x.ID, "treatments", x.ID, x, `INSERT INTO treatments (id, site, at, body) VALUES (?, ?, ?, ?) ON CONFLICT (id) DO NOTHING`, x.Site, micros(x.At))
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
	return addRecord(ctx, s, "log record "+x.ID, "records", x.ID, x, `INSERT INTO records (id, site, at, body) VALUES (?, ?, ?, ?) ON CONFLICT (id) DO NOTHING`, x.Site, micros(x.Start))
}

// Records returns what AddRecord logged for a site, corrected entries too, in
// order of start and ID.
func (s *Store) Records(ctx context.Context, site string) ([]garden.Record, error) {
	return records[garden.Record](ctx, s, "load records of "+site, `SELECT body FROM records WHERE site = ? ORDER BY at, id`, site)
}

func addRecord[T any](ctx context.Context, s *Store, what, table, id string, record T, insert, site string, when int64) error {
	if id == "" {
		return fmt.Errorf("%s: it has no id", what)
	}
	body, err := engine.Entry(record)
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return s.change(ctx, what, func(tx *sql.Tx) error {
		res, err := tx.ExecContext(ctx, insert, id, site, when, string(body))
		if err := changed(res, err, errSame); err != errSame {
			return err
		}
		var have string
		if err := tx.QueryRowContext(ctx, `SELECT body FROM `+table+` WHERE id = ?`, id).Scan(&have); err != nil {
			return err
		}
		return engine.SameEntry[T]([]byte(have), body)
	})
}

func records[T any](ctx context.Context, s *Store, what, query, site string) ([]T, error) {
	rows, err := s.read.QueryContext(ctx, query, site)
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	var out []T
	for rows.Next() {
		var body string
		if err := rows.Scan(&body); err != nil {
			return nil, s.explain(what, err)
		}
		x, err := engine.OpenEntry[T]([]byte(body))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", what, err)
		}
		out = append(out, x)
	}
	return out, s.explain(what, rows.Err())
}
