package postgres

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"plotwarden/store"
	"plotwarden/store/engine"
	"plotwarden/store/pack"
	"plotwarden/weather"
)

func micros(t time.Time) int64 { return engine.Micros(t) }

func instant(us int64) time.Time { return engine.Instant(us) }

func text(row pgx.CollectableRow) (s string, err error) { return s, row.Scan(&s) }

// SaveWeather puts the hours of s into what is kept for the site. A missing value
// changes nothing; a value replaces an older one, except that an observed value
// yields only to one of a more trusted kind of source: own station, then one near
// by, then an analysis.
func (s *Store) SaveWeather(ctx context.Context, site string, series *weather.Series) error {
	if series.Len() == 0 {
		return nil
	}
	return s.change(ctx, "save weather of "+site, func(tx pgx.Tx) error {
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

// LoadWeather returns the hours from up to and not including to, widened to whole
// hours. Hours of which nothing is kept are missing.
func (s *Store) LoadWeather(ctx context.Context, site string, from, to time.Time) (*weather.Series, error) {
	what := "load weather of " + site
	from, n, err := engine.Span(from, to)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	grid := pack.NewGrid(from, n)
	parts, err := list(ctx, s, what, func(row pgx.CollectableRow) (*pack.Grid, error) {
		var c int64
		var blob []byte
		if err := row.Scan(&c, &blob); err != nil {
			return nil, err
		}
		part, err := pack.Decode(blob)
		if err != nil {
			return nil, fmt.Errorf("ten days from %s: %w. Saving newer data for these days clears it", engine.ChunkStart(c).Format(time.DateOnly), err)
		}
		return part, nil
	}, `SELECT chunk, hours FROM weather WHERE site = $1 AND chunk BETWEEN $2 AND $3 ORDER BY chunk`, site, engine.ChunkOf(from), engine.ChunkOf(to))
	if err != nil {
		return nil, err
	}
	for _, p := range parts {
		grid.Paste(p)
	}
	out, err := grid.Series()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	return out, nil
}

// SaveForecast keeps a forecast as it was issued. The same site, source and issue
// time again keeps the first.
func (s *Store) SaveForecast(ctx context.Context, site, source string, issued time.Time, series *weather.Series) error {
	_, err := s.exec(ctx, "save forecast of "+source+" for "+site, `INSERT INTO forecasts (site, source, issued, hours) VALUES ($1, $2, $3, $4) ON CONFLICT DO NOTHING`,
		site, source, micros(issued), pack.Series(series))
	return err
}

func forecast(site string) func(pgx.CollectableRow) (store.Forecast, error) {
	return func(row pgx.CollectableRow) (store.Forecast, error) {
		f := store.Forecast{Site: site}
		var issued int64
		var blob []byte
		err := row.Scan(&f.Source, &issued, &blob)
		if err != nil {
			return f, err
		}
		f.Issued = instant(issued)
		if f.Series, err = pack.OpenSeries(blob); err != nil {
			return f, fmt.Errorf("%s, issued %v: %w", f.Source, f.Issued, err)
		}
		return f, nil
	}
}

// Forecasts returns the forecasts of all sources issued from up to and not
// including to, in order of issue.
func (s *Store) Forecasts(ctx context.Context, site string, from, to time.Time) ([]store.Forecast, error) {
	return list(ctx, s, "load forecasts for "+site, forecast(site),
		`SELECT source, issued, hours FROM forecasts WHERE site = $1 AND issued >= $2 AND issued < $3 ORDER BY issued, source`, site, micros(from), micros(to))
}

// SampleForecasts calls use with the first forecast that each source issued in
// each stretch of length every, from up to and not including to, one at a time in
// order of source and issue. An error of use ends it and is returned.
func (s *Store) SampleForecasts(ctx context.Context, site string, from, to time.Time, every time.Duration, use func(store.Forecast) error) error {
	what := "load forecasts for " + site
	rows, err := s.pool.Query(ctx, `SELECT DISTINCT ON (source, issued / $4) source, issued, hours FROM forecasts
		WHERE site = $1 AND issued >= $2 AND issued < $3 ORDER BY source, issued / $4, issued`, site, micros(from), micros(to), every.Microseconds())
	if err != nil {
		return s.explain(what, err)
	}
	defer rows.Close()
	read := forecast(site)
	for rows.Next() {
		f, err := read(rows)
		if err != nil {
			return s.explain(what, err)
		}
		if err := use(f); err != nil {
			return err
		}
	}
	return s.explain(what, rows.Err())
}

// ThinForecasts leaves, of the forecasts for a site that were issued before an
// instant, the first that each source issued on each day, UTC, and returns how
// many it took out.
func (s *Store) ThinForecasts(ctx context.Context, site string, before time.Time) (int, error) {
	const day = int64(24 * time.Hour / time.Microsecond)
	tag, err := s.exec(ctx, "thin the forecasts for "+site, `DELETE FROM forecasts WHERE site = $1 AND issued < $2 AND (source, issued) NOT IN (
		SELECT source, min(issued) FROM forecasts WHERE site = $1 AND issued < $2 GROUP BY source, issued / $3)`, site, micros(before), day)
	return int(tag.RowsAffected()), err
}
