package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/store"
	"plotwarden/store/pack"
)

// decided is the stored form of a round.
type decided struct {
	Assessments []plan.Assessment `json:"assessments"`
	Hours       []plan.Hours      `json:"hours"`
}

// SaveRound writes what a round decided, in one transaction: the assessments
// and hours, their place in the history, and the messages. A message whose key
// is there already is left as it is. A round older than the latest one changes
// neither the latest nor the history's newer entries.
func (s *Store) SaveRound(ctx context.Context, r store.Round) error {
	what := "save round of " + r.Site
	if r.Day.IsZero() {
		r.Day = civil.Of(r.At, time.UTC)
	}
	for i := range r.Assessments {
		if r.Assessments[i].Site != r.Site {
			return fmt.Errorf("%s: assessment %s is of another site", what, r.Assessments[i].Key())
		}
		if r.Assessments[i].Readiness == 0 { // would be written and never be read
			return fmt.Errorf("%s: assessment %s has no readiness", what, r.Assessments[i].Key())
		}
	}
	body, err := encode(decided{r.Assessments, r.Hours})
	if err != nil {
		return fmt.Errorf("%s: %w", what, notFinite(r.Assessments, err))
	}
	return s.change(ctx, what, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `INSERT INTO rounds (site, at, day, body) VALUES (?, ?, ?, ?)
			ON CONFLICT (site) DO UPDATE SET at = excluded.at, day = excluded.day, body = excluded.body WHERE excluded.at >= rounds.at`,
			r.Site, micros(r.At), int64(r.Day), body); err != nil {
			return err
		}
		if err := saveHistory(ctx, tx, r); err != nil {
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

// saveHistory puts the round's assessments into the row of its day, without
// their tracks: a track can be computed again from the weather.
func saveHistory(ctx context.Context, tx *sql.Tx, r store.Round) error {
	var at int64
	var blob []byte
	var have []plan.Assessment
	err := tx.QueryRowContext(ctx, `SELECT at, body FROM history WHERE site = ? AND day = ?`, r.Site, int64(r.Day)).Scan(&at, &blob)
	switch {
	case errors.Is(err, sql.ErrNoRows):
	case err != nil:
		return err
	default:
		if err := decode(blob, &have); err != nil {
			return fmt.Errorf("history of %s: %w", r.Day, err)
		}
	}
	in := make([]plan.Assessment, len(r.Assessments))
	for i, a := range r.Assessments {
		a.Track = nil
		in[i] = a
	}
	older, newer := have, in
	if micros(r.At) < at {
		older, newer = in, have
	}
	taken := map[string]bool{}
	merged := make([]plan.Assessment, 0, len(older)+len(newer))
	for _, list := range [][]plan.Assessment{newer, older} {
		for _, a := range list {
			if !taken[a.Key()] {
				taken[a.Key()] = true
				merged = append(merged, a)
			}
		}
	}
	if blob, err = encode(merged); err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO history (site, day, at, body) VALUES (?, ?, ?, ?)
		ON CONFLICT (site, day) DO UPDATE SET at = excluded.at, body = excluded.body`, r.Site, int64(r.Day), max(at, micros(r.At)), blob)
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
	var d decided
	if err := decode(blob, &d); err != nil {
		return store.Round{}, fmt.Errorf("%s: %w", what, err)
	}
	return store.Round{Site: site, At: instant(at), Day: civil.Date(day), Assessments: d.Assessments, Hours: d.Hours}, nil
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
		var list []plan.Assessment
		if err := decode(blob, &list); err != nil {
			return nil, fmt.Errorf("%s: %s: %w", what, civil.Date(day), err)
		}
		for _, a := range list {
			if key == "" || a.Key() == key {
				out = append(out, a)
			}
		}
	}
	return out, s.explain(what, rows.Err())
}

func encode(v any) ([]byte, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	return pack.Bytes(b), nil
}

func decode(blob []byte, v any) error {
	b, err := pack.OpenBytes(blob)
	if err != nil {
		return err
	}
	return json.Unmarshal(b, v)
}

// notFinite names the assessment that JSON cannot hold.
func notFinite(list []plan.Assessment, err error) error {
	for i := range list {
		if _, e := json.Marshal(list[i]); e != nil {
			return fmt.Errorf("assessment %s: %w", list[i].Key(), e)
		}
	}
	return err
}
