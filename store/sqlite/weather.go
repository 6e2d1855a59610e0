package sqlite

import (
	"context"
	"database/sql"
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
	return s.change(ctx, "save weather of "+site, func(tx *sql.Tx) error {
		k := newKeeper(tx)
		defer k.close()
		return k.hours(ctx, site, series)
	})
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
	_, err := s.exec(ctx, "save forecast of "+source+" for "+site, addIssue, site, source, micros(issued), pack.Series(series))
	return err
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

// ThinForecasts leaves, of the forecasts for a site that were issued before an
// instant, the first that each source issued on each day, UTC, and returns how
// many it took out.
func (s *Store) ThinForecasts(ctx context.Context, site string, before time.Time) (int, error) {
	const day = int64(24 * time.Hour / time.Microsecond)
	n, err := s.exec(ctx, "thin the forecasts for "+site, `DELETE FROM forecasts WHERE site = ?1 AND issued < ?2 AND (source, issued) NOT IN (
		SELECT source, min(issued) FROM forecasts WHERE site = ?1 AND issued < ?2 GROUP BY source, issued / ?3)`, site, micros(before), day)
	return int(n), err
}

// micros is how instants are kept; finer parts are cut off.
func micros(t time.Time) int64 { return t.UnixMicro() }

func instant(us int64) time.Time { return time.UnixMicro(us).UTC() }
