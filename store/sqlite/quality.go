package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"plotwarden/store"
	"plotwarden/store/pack"
	"plotwarden/weather"
)

// SaveRejects keeps values that the checks took out. Of one source, variable and
// hour the newest stays.
func (s *Store) SaveRejects(ctx context.Context, site string, rejects []weather.Reject) error {
	if len(rejects) == 0 {
		return nil
	}
	return s.change(ctx, "keep values set aside of "+site, func(tx *sql.Tx) error {
		k := newKeeper(tx)
		defer k.close()
		return k.rejects(ctx, site, rejects)
	})
}

// PutBack takes values out of those that were set aside and merges them into the
// site's weather as if they had come in their hours. All rejects of one call are of
// one source. A value that a check took out since then for another fault stays
// where it is.
func (s *Store) PutBack(ctx context.Context, site string, rejects []weather.Reject) error {
	if len(rejects) == 0 {
		return nil
	}
	return s.change(ctx, "put back values set aside of "+site, func(tx *sql.Tx) error {
		k := newKeeper(tx)
		defer k.close()
		var back []weather.Reject
		for _, r := range rejects {
			n, err := k.count(ctx, `DELETE FROM rejects WHERE site = ? AND source = ? AND var = ? AND at = ? AND fault = ?`, site, r.Origin.Source, int(r.Var), micros(r.Time), string(r.Fault))
			if err != nil {
				return err
			}
			if n > 0 {
				back = append(back, r)
			}
		}
		series, err := weather.Restored(back)
		if err != nil || series == nil {
			return err
		}
		return k.hours(ctx, site, series)
	})
}

// Rejects returns the values of a site that were taken out, of the hours from up
// to and not including to, in order of time. Of their origin source and kind are
// kept.
func (s *Store) Rejects(ctx context.Context, site string, from, to time.Time) ([]weather.Reject, error) {
	what := "load values set aside of " + site
	rows, err := s.read.QueryContext(ctx, `SELECT source, var, at, value, kind, fault, reason FROM rejects WHERE site = ? AND at >= ? AND at < ? ORDER BY at, var, source`, site, micros(from), micros(to))
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	var out []weather.Reject
	for rows.Next() {
		var r weather.Reject
		var at int64
		if err := rows.Scan(&r.Origin.Source, &r.Var, &at, &r.Value, &r.Origin.Kind, &r.Fault, &r.Reason); err != nil {
			return nil, s.explain(what, err)
		}
		r.Time = instant(at)
		out = append(out, r)
	}
	return out, s.explain(what, rows.Err())
}

// CountRejects counts the values of a site that were taken out, of the hours
// from an instant on, by source and fault.
func (s *Store) CountRejects(ctx context.Context, site string, from time.Time) ([]store.SetAside, error) {
	what := "count values set aside of " + site
	// The reason is that of the row with the greatest hour: SQLite documents
	// this for bare columns beside max().
	rows, err := s.read.QueryContext(ctx, `SELECT source, fault, count(*), max(at), reason FROM rejects WHERE site = ? AND at >= ? GROUP BY source, fault ORDER BY source, fault`, site, micros(from))
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	var out []store.SetAside
	for rows.Next() {
		var a store.SetAside
		var at int64
		if err := rows.Scan(&a.Source, &a.Fault, &a.N, &at, &a.Reason); err != nil {
			return nil, s.explain(what, err)
		}
		a.Last = instant(at)
		out = append(out, a)
	}
	return out, s.explain(what, rows.Err())
}

// SaveQuality keeps how good a site's weather has been, in place of what was kept
// before.
func (s *Store) SaveQuality(ctx context.Context, q store.Quality) error {
	what := "save the weather's quality of " + q.Site
	body, err := encode(q)
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	_, err = s.exec(ctx, what, `INSERT INTO quality (site, at, body) VALUES (?, ?, ?) ON CONFLICT (site) DO UPDATE SET at = excluded.at, body = excluded.body`, q.Site, micros(q.At), body)
	return err
}

// Quality returns how good a site's weather has been. It is ErrNotFound before
// that was worked out first.
func (s *Store) Quality(ctx context.Context, site string) (store.Quality, error) {
	what := "load the weather's quality of " + site
	var blob []byte
	err := s.read.QueryRowContext(ctx, `SELECT body FROM quality WHERE site = ?`, site).Scan(&blob)
	if errors.Is(err, sql.ErrNoRows) {
		return store.Quality{}, fmt.Errorf("%s: %w", what, store.ErrNotFound)
	}
	if err != nil {
		return store.Quality{}, s.explain(what, err)
	}
	var q store.Quality
	if err := decode(blob, &q); err != nil {
		return store.Quality{}, fmt.Errorf("%s: %w", what, err)
	}
	return q, nil
}

// SampleForecasts calls use with the first forecast that each source issued in
// each stretch of length every, from up to and not including to, one at a time
// in order of source and issue. An error of use ends it and is returned.
func (s *Store) SampleForecasts(ctx context.Context, site string, from, to time.Time, every time.Duration, use func(store.Forecast) error) error {
	what := "load forecasts for " + site
	rows, err := s.read.QueryContext(ctx, `SELECT source, min(issued), hours FROM forecasts WHERE site = ? AND issued >= ? AND issued < ? GROUP BY source, issued / ? ORDER BY source, issued`,
		site, micros(from), micros(to), every.Microseconds())
	if err != nil {
		return s.explain(what, err)
	}
	defer rows.Close()
	for rows.Next() {
		f := store.Forecast{Site: site}
		var issued int64
		var blob []byte
		if err := rows.Scan(&f.Source, &issued, &blob); err != nil {
			return s.explain(what, err)
		}
		f.Issued = instant(issued)
		if f.Series, err = pack.OpenSeries(blob); err != nil {
			return fmt.Errorf("%s: %s, issued %v: %w", what, f.Source, f.Issued, err)
		}
		if err := use(f); err != nil {
			return err
		}
	}
	return s.explain(what, rows.Err())
}
