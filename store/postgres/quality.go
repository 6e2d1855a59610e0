package postgres

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"plotwarden/store"
	"plotwarden/store/engine"
	"plotwarden/weather"
)

// SaveRejects keeps values that the checks took out. Of one source, variable and
// hour the newest stays.
func (s *Store) SaveRejects(ctx context.Context, site string, rejects []weather.Reject) error {
	if len(rejects) == 0 {
		return nil
	}
	return s.change(ctx, "keep values set aside of "+site, func(tx pgx.Tx) error {
		b := &batch{rejects: map[rejectKey]int{}}
		b.aside(site, rejects)
		return b.save(ctx, tx)
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
	return s.change(ctx, "put back values set aside of "+site, func(tx pgx.Tx) error {
		var back []weather.Reject
		for _, r := range rejects {
			tag, err := tx.Exec(ctx, `DELETE FROM rejects WHERE site = $1 AND source = $2 AND var = $3 AND at = $4 AND fault = $5`, site, r.Origin.Source, int64(r.Var), micros(r.Time), string(r.Fault))
			if err != nil {
				return err
			}
			if tag.RowsAffected() > 0 {
				back = append(back, r)
			}
		}
		series, err := weather.Restored(back)
		if err != nil || series == nil {
			return err
		}
		c := newChunks(tx)
		c.want(site, series)
		if err := c.load(ctx); err != nil {
			return err
		}
		if err := c.merge(site, series); err != nil {
			return err
		}
		return c.save(ctx)
	})
}

// Rejects returns the values of a site that were taken out, of the hours from up
// to and not including to, in order of time. Of their origin source and kind are
// kept.
func (s *Store) Rejects(ctx context.Context, site string, from, to time.Time) ([]weather.Reject, error) {
	return list(ctx, s, "load values set aside of "+site, func(row pgx.CollectableRow) (weather.Reject, error) {
		var r weather.Reject
		var v, at, kind int64
		var fault string
		err := row.Scan(&r.Origin.Source, &v, &at, &r.Value, &kind, &fault, &r.Reason)
		r.Var, r.Origin.Kind, r.Fault, r.Time = weather.Var(v), weather.Kind(kind), weather.Fault(fault), instant(at)
		return r, err
	}, `SELECT source, var, at, value, kind, fault, reason FROM rejects WHERE site = $1 AND at >= $2 AND at < $3 ORDER BY at, var, source`, site, micros(from), micros(to))
}

// CountRejects counts the values of a site that were taken out, of the hours from
// an instant on, by source and fault. The reason is that of the newest.
func (s *Store) CountRejects(ctx context.Context, site string, from time.Time) ([]store.SetAside, error) {
	return list(ctx, s, "count values set aside of "+site, func(row pgx.CollectableRow) (store.SetAside, error) {
		var a store.SetAside
		var at int64
		var fault string
		err := row.Scan(&a.Source, &fault, &a.N, &at, &a.Reason)
		a.Fault, a.Last = weather.Fault(fault), instant(at)
		return a, err
	}, `SELECT source, fault, count(*), max(at), (array_agg(reason ORDER BY at DESC, var))[1] FROM rejects WHERE site = $1 AND at >= $2 GROUP BY source, fault ORDER BY source, fault`, site, micros(from))
}

// SaveQuality keeps how good a site's weather has been, in place of what was kept
// before.
func (s *Store) SaveQuality(ctx context.Context, q store.Quality) error {
	what := "save the weather's quality of " + q.Site
	body, err := engine.Encode(q)
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	_, err = s.exec(ctx, what, `INSERT INTO quality (site, at, body) VALUES ($1, $2, $3) ON CONFLICT (site) DO UPDATE SET at = excluded.at, body = excluded.body`, q.Site, micros(q.At), body)
	return err
}

// Quality returns how good a site's weather has been. It is ErrNotFound before that
// was worked out first.
func (s *Store) Quality(ctx context.Context, site string) (store.Quality, error) {
	what := "load the weather's quality of " + site
	return first(list(ctx, s, what, func(row pgx.CollectableRow) (q store.Quality, err error) {
		var blob []byte
		if err := row.Scan(&blob); err != nil {
			return q, err
		}
		return q, engine.Decode(blob, &q)
	}, `SELECT body FROM quality WHERE site = $1`, site))(what)
}
