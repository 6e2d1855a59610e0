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

// chunkHours is how many hours one row holds: a forecast touches two or three
// rows, and a season is about twenty.
const chunkHours = 240

func chunkOf(t time.Time) int64 {
	h := t.Unix() / 3600
	c := h / chunkHours
	if h%chunkHours < 0 {
		c--
	}
	return c
}

func chunkStart(c int64) time.Time { return time.Unix(c*chunkHours*3600, 0).UTC() }

// SaveWeather puts the hours of s into what is kept for the site. A missing
// value changes nothing; a value replaces an older one, except that an observed
// value yields only to one of a more trusted kind of source: own station, then
// one near by, then an analysis.
func (s *Store) SaveWeather(ctx context.Context, site string, series *weather.Series) error {
	if series.Len() == 0 {
		return nil
	}
	what := "save weather of " + site
	return s.change(ctx, what, func(tx *sql.Tx) error {
		for c := chunkOf(series.Start()); c <= chunkOf(series.End().Add(-time.Hour)); c++ {
			grid, err := loadChunk(ctx, tx, site, c)
			if errors.Is(err, pack.ErrDamaged) {
				// New data must not be kept out by a row that cannot be read.
				grid, err = pack.NewGrid(chunkStart(c), chunkHours), setAside(ctx, tx, site, c)
			}
			if err != nil {
				return err
			}
			if grid.Merge(series); grid.Empty() {
				continue
			}
			if _, err := tx.ExecContext(ctx, `INSERT INTO weather (site, chunk, hours) VALUES (?, ?, ?)
				ON CONFLICT (site, chunk) DO UPDATE SET hours = excluded.hours`, site, c, grid.Encode()); err != nil {
				return err
			}
		}
		return nil
	})
}

func loadChunk(ctx context.Context, tx *sql.Tx, site string, c int64) (*pack.Grid, error) {
	var blob []byte
	err := tx.QueryRowContext(ctx, `SELECT hours FROM weather WHERE site = ? AND chunk = ?`, site, c).Scan(&blob)
	if errors.Is(err, sql.ErrNoRows) {
		return pack.NewGrid(chunkStart(c), chunkHours), nil
	}
	if err != nil {
		return nil, err
	}
	return pack.Decode(blob)
}

func setAside(ctx context.Context, tx *sql.Tx, site string, c int64) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO set_aside (place, blob) SELECT 'weather ' || site || ' ' || chunk, hours FROM weather WHERE site = ? AND chunk = ?`, site, c)
	return err
}

// LoadWeather returns the hours from up to and not including to, widened to
// whole hours. Hours of which nothing is kept are missing.
func (s *Store) LoadWeather(ctx context.Context, site string, from, to time.Time) (*weather.Series, error) {
	from = from.UTC().Truncate(time.Hour)
	n := int(to.Sub(from) / time.Hour)
	if to.Sub(from)%time.Hour > 0 {
		n++
	}
	if to.Before(from) || n > 100*366*24 {
		return nil, fmt.Errorf("load weather of %s: the span from %v to %v is backwards or over a century", site, from, to)
	}
	what := "load weather of " + site
	grid := pack.NewGrid(from, n)
	rows, err := s.read.QueryContext(ctx, `SELECT chunk, hours FROM weather WHERE site = ? AND chunk BETWEEN ? AND ? ORDER BY chunk`, site, chunkOf(from), chunkOf(to))
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	for rows.Next() {
		var c int64
		var blob []byte
		if err := rows.Scan(&c, &blob); err != nil {
			return nil, s.explain(what, err)
		}
		part, err := pack.Decode(blob)
		if err != nil {
			return nil, fmt.Errorf("%s: ten days from %s: %w. Saving newer data for these days clears it", what, chunkStart(c).Format(time.DateOnly), err)
		}
		grid.Paste(part)
	}
	if err := rows.Err(); err != nil {
		return nil, s.explain(what, err)
	}
	out, err := grid.Series()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	return out, nil
}

// SaveForecast keeps a forecast as it was issued. The same site, source and
// issue time again keeps the first.
func (s *Store) SaveForecast(ctx context.Context, site, source string, issued time.Time, series *weather.Series) error {
	_, err := s.write.ExecContext(ctx, `INSERT INTO forecasts (site, source, issued, hours) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING`,
		site, source, micros(issued), pack.Series(series))
	return s.explain("save forecast of "+source+" for "+site, err)
}

// Forecasts returns the forecasts of all sources issued from up to and not
// including to, in order of issue.
func (s *Store) Forecasts(ctx context.Context, site string, from, to time.Time) ([]store.Forecast, error) {
	what := "load forecasts for " + site
	rows, err := s.read.QueryContext(ctx, `SELECT source, issued, hours FROM forecasts WHERE site = ? AND issued >= ? AND issued < ? ORDER BY issued, source`, site, micros(from), micros(to))
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	var out []store.Forecast
	for rows.Next() {
		f := store.Forecast{Site: site}
		var issued int64
		var blob []byte
		if err := rows.Scan(&f.Source, &issued, &blob); err != nil {
			return nil, s.explain(what, err)
		}
		f.Issued = instant(issued)
		if f.Series, err = pack.OpenSeries(blob); err != nil {
			return nil, fmt.Errorf("%s: %s, issued %v: %w", what, f.Source, f.Issued, err)
		}
		out = append(out, f)
	}
	return out, s.explain(what, rows.Err())
}

// micros is how instants are kept; finer parts are cut off.
func micros(t time.Time) int64 { return t.UnixMicro() }

func instant(us int64) time.Time { return time.UnixMicro(us).UTC() }
