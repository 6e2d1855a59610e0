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

// SaveFetched keeps what a batch of fetches brought, in one transaction: the hours
// as SaveWeather does, the values set aside, the forecast as it was issued (the
// first under a site, source and time stays), and how the source did. The first
// result has an error for each entry that was not kept, nil for the others; with
// the second, nothing was kept.
func (s *Store) SaveFetched(ctx context.Context, list []store.Fetched) ([]error, error) {
	failed := make([]error, len(list))
	err := s.change(ctx, fmt.Sprintf("save what %d fetches brought", len(list)), func(tx *sql.Tx) error {
		k := newKeeper(tx)
		defer k.close()
		for i := range list {
			var err error
			if failed[i], err = k.keep(ctx, &list[i]); err != nil {
				return err
			}
			failed[i] = s.explain("save what "+list[i].Source+" said of "+list[i].Site, failed[i])
		}
		return nil
	})
	return failed, err
}

// keeper writes weather in one transaction. It prepares each statement once, and
// packs once what many sites have in common.
type keeper struct {
	tx     *sql.Tx
	stmts  map[string]*sql.Stmt
	merger *pack.Merger
}

const (
	saveChunk = `INSERT INTO weather (site, chunk, hours) VALUES (?, ?, ?) ON CONFLICT (site, chunk) DO UPDATE SET hours = excluded.hours`
	loadChunk = `SELECT hours FROM weather WHERE site = ? AND chunk = ?`
	setAside  = `INSERT INTO set_aside (place, blob) SELECT 'weather ' || site || ' ' || chunk, hours FROM weather WHERE site = ? AND chunk = ?`
	addReject = `INSERT INTO rejects (site, source, var, at, value, kind, fault, reason) VALUES (?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (site, source, var, at) DO UPDATE SET value = excluded.value, kind = excluded.kind, fault = excluded.fault, reason = excluded.reason`
	addIssue  = `INSERT INTO forecasts (site, source, issued, hours) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING`
	addStatus = `INSERT INTO sources (site, source, last_try, last_good, last_error, cause, consecutive, elevation) VALUES (?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (site, source) DO UPDATE SET last_try = excluded.last_try, last_error = excluded.last_error, cause = excluded.cause,
			last_good = CASE excluded.consecutive WHEN 0 THEN excluded.last_good ELSE sources.last_good END,
			consecutive = CASE excluded.consecutive WHEN 0 THEN 0 ELSE sources.consecutive + 1 END,
			elevation = coalesce(excluded.elevation, sources.elevation)`
)

func newKeeper(tx *sql.Tx) *keeper {
	return &keeper{tx: tx, stmts: map[string]*sql.Stmt{}, merger: pack.NewMerger()}
}

func (k *keeper) close() {
	for _, s := range k.stmts {
		_ = s.Close() // the transaction's end closes it in any case
	}
}

func (k *keeper) stmt(ctx context.Context, text string) (*sql.Stmt, error) {
	if s := k.stmts[text]; s != nil {
		return s, nil
	}
	s, err := k.tx.PrepareContext(ctx, text)
	if err == nil {
		k.stmts[text] = s
	}
	return s, err
}

func (k *keeper) exec(ctx context.Context, text string, args ...any) error {
	_, err := k.count(ctx, text, args...)
	return err
}

// count is exec that returns how many rows changed.
func (k *keeper) count(ctx context.Context, text string, args ...any) (int64, error) {
	s, err := k.stmt(ctx, text)
	if err != nil {
		return 0, err
	}
	r, err := s.ExecContext(ctx, args...)
	if err != nil {
		return 0, err
	}
	return r.RowsAffected()
}

// keep keeps one entry. Where that fails only its status is written, with why;
// the second error is of the transaction.
func (k *keeper) keep(ctx context.Context, f *store.Fetched) (failed, err error) {
	if f.Site == "" || f.Source == "" || f.At.IsZero() {
		return errors.New("an entry without a site, a source or a time"), nil
	}
	if err := k.exec(ctx, `SAVEPOINT one`); err != nil {
		return nil, err
	}
	cause, text := f.Cause, f.Failure
	if failed = k.contents(ctx, f); failed != nil {
		if ctx.Err() != nil {
			return nil, failed
		}
		if err := k.exec(ctx, `ROLLBACK TO one`); err != nil {
			return nil, errors.Join(failed, err)
		}
		cause, text = store.NotKept, failed.Error()
	}
	if err := k.exec(ctx, `RELEASE one`); err != nil {
		return nil, errors.Join(failed, err)
	}
	return failed, k.note(ctx, f, cause, text)
}

func (k *keeper) note(ctx context.Context, f *store.Fetched, cause, text string) error {
	good, bad := micros(f.At), 0
	if cause != "" || text != "" {
		good, bad = micros(time.Time{}), 1
	}
	return k.exec(ctx, addStatus, f.Site, f.Source, micros(f.At), good, text, cause, bad, f.Elevation)
}

func (k *keeper) contents(ctx context.Context, f *store.Fetched) error {
	if h := f.Hours; h != nil && h.Len() > 0 {
		if err := k.hours(ctx, f.Site, h); err != nil {
			return err
		}
	}
	if err := k.rejects(ctx, f.Site, f.Rejects); err != nil {
		return err
	}
	if f.Ahead == nil || f.Ahead.Len() == 0 {
		return nil
	}
	return k.exec(ctx, addIssue, f.Site, f.Source, micros(f.At), k.merger.Series(f.Ahead))
}

func (k *keeper) rejects(ctx context.Context, site string, list []weather.Reject) error {
	for _, r := range list {
		if err := k.exec(ctx, addReject, site, r.Origin.Source, int(r.Var), micros(r.Time), r.Value, int(r.Origin.Kind), string(r.Fault), r.Reason); err != nil {
			return err
		}
	}
	return nil
}

func (k *keeper) hours(ctx context.Context, site string, h *weather.Series) error {
	load, err := k.stmt(ctx, loadChunk)
	if err != nil {
		return err
	}
	for c := chunkOf(h.Start()); c <= chunkOf(h.End().Add(-time.Hour)); c++ {
		var have []byte
		if err := load.QueryRowContext(ctx, site, c).Scan(&have); err != nil && !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		blob, damaged, err := k.merger.Merge(have, chunkStart(c), chunkHours, h)
		if err == nil && damaged {
			err = k.exec(ctx, setAside, site, c)
		}
		if err == nil && blob != nil {
			err = k.exec(ctx, saveChunk, site, c, blob)
		}
		if err != nil {
			return err
		}
	}
	return nil
}
