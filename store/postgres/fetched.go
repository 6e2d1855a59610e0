package postgres

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"plotwarden/store"
	"plotwarden/store/engine"
	"plotwarden/store/pack"
	"plotwarden/weather"
)

// SaveFetched keeps what a batch of fetches brought, in one transaction: the hours
// as SaveWeather does, the values set aside, the forecast as it was issued (the
// first under a site, source and time stays), and how the source did. The first
// result has an error for each entry that was not kept, nil for the others; with
// the second, nothing was kept.
func (s *Store) SaveFetched(ctx context.Context, list []store.Fetched) ([]error, error) {
	failed, err := s.saveFetched(ctx, list)
	var e *pgconn.PgError
	if err == nil || !errors.As(err, &e) || len(list) < 2 || e.Code[:2] != "22" && e.Code[:2] != "23" {
		return failed, err
	}
	// The server refused a value of one of them: each goes by itself.
	failed = make([]error, len(list))
	for i := range list {
		one, err := s.saveFetched(ctx, list[i:i+1])
		switch {
		case err == nil:
			failed[i] = one[0]
		case !errors.As(err, &e):
			return nil, err
		default:
			failed[i] = err
			f := store.Fetched{Site: list[i].Site, Source: list[i].Source, At: list[i].At, Cause: store.NotKept, Failure: err.Error()}
			if _, err := s.saveFetched(ctx, []store.Fetched{f}); err != nil && !errors.As(err, &e) {
				return nil, err
			}
		}
	}
	return failed, nil
}

func (s *Store) saveFetched(ctx context.Context, list []store.Fetched) ([]error, error) {
	var failed []error
	err := s.change(ctx, fmt.Sprintf("save what %d fetches brought", len(list)), func(tx pgx.Tx) error {
		failed = make([]error, len(list))
		c := newChunks(tx)
		for i := range list {
			if f := &list[i]; whole(f) && f.Hours != nil {
				c.want(f.Site, f.Hours)
			}
		}
		if err := c.load(ctx); err != nil {
			return err
		}
		b := &batch{merger: c.merger, rejects: map[rejectKey]int{}}
		for i := range list {
			f := &list[i]
			if !whole(f) {
				failed[i] = s.notKept(f, errors.New("an entry without a site, a source or a time"))
				continue
			}
			cause, why := f.Cause, f.Failure
			if f.Hours != nil {
				if err := c.merge(f.Site, f.Hours); err != nil {
					failed[i] = s.notKept(f, err)
					cause, why = store.NotKept, err.Error()
				}
			}
			if failed[i] == nil {
				b.contents(f)
			}
			b.note(f, cause, why)
		}
		if err := c.save(ctx); err != nil {
			return err
		}
		return b.save(ctx, tx)
	})
	return failed, err
}

func whole(f *store.Fetched) bool { return f.Site != "" && f.Source != "" && !f.At.IsZero() }

func (s *Store) notKept(f *store.Fetched, err error) error {
	return s.explain("save what "+f.Source+" said of "+f.Site, err)
}

type rejectKey struct {
	site, source string
	v            weather.Var
	at           int64
}

// batch collects the rows of many entries by column, so that each table takes them
// in one statement.
type batch struct {
	merger  *pack.Merger
	rejects map[rejectKey]int // where in the columns
	r       rejectColumns
	issues  struct {
		site, source []string
		issued       []int64
		hours        [][]byte
	}
	notes []*noteColumns // an entry's second note of one source goes after the first
}

type rejectColumns struct {
	site, source, fault, reason []string
	v, at, kind                 []int64
	value                       []float64
}

type noteColumns struct {
	seen               map[[2]string]bool
	site, source       []string
	try, good, bad     []int64
	failure, causeText []string
	elevation          []*float64
}

func (b *batch) contents(f *store.Fetched) {
	b.aside(f.Site, f.Rejects)
	if f.Ahead == nil || f.Ahead.Len() == 0 {
		return
	}
	i := &b.issues
	i.site, i.source = append(i.site, f.Site), append(i.source, f.Source)
	i.issued, i.hours = append(i.issued, micros(f.At)), append(i.hours, b.merger.Series(f.Ahead))
}

// aside takes values that were set aside; of one source, variable and hour the
// last stays.
func (b *batch) aside(site string, list []weather.Reject) {
	for _, r := range list {
		key := rejectKey{site, r.Origin.Source, r.Var, micros(r.Time)}
		n, again := b.rejects[key]
		if !again {
			n = len(b.r.site)
			b.rejects[key] = n
			b.r.site, b.r.source, b.r.fault, b.r.reason = append(b.r.site, site), append(b.r.source, key.source), append(b.r.fault, ""), append(b.r.reason, "")
			b.r.v, b.r.at, b.r.kind, b.r.value = append(b.r.v, int64(r.Var)), append(b.r.at, key.at), append(b.r.kind, 0), append(b.r.value, 0)
		}
		b.r.fault[n], b.r.reason[n], b.r.kind[n], b.r.value[n] = string(r.Fault), engine.Text(r.Reason), int64(r.Origin.Kind), r.Value
	}
}

func (b *batch) note(f *store.Fetched, cause, why string) {
	key := [2]string{f.Site, f.Source}
	var n *noteColumns
	for _, c := range b.notes {
		if !c.seen[key] {
			n = c
			break
		}
	}
	if n == nil {
		n = &noteColumns{seen: map[[2]string]bool{}}
		b.notes = append(b.notes, n)
	}
	n.seen[key] = true
	good, bad := micros(f.At), int64(0)
	if cause != "" || why != "" {
		good, bad = micros(time.Time{}), 1
	}
	n.site, n.source = append(n.site, f.Site), append(n.source, f.Source)
	n.try, n.good, n.bad = append(n.try, micros(f.At)), append(n.good, good), append(n.bad, bad)
	n.failure, n.causeText, n.elevation = append(n.failure, engine.Text(why)), append(n.causeText, engine.Text(cause)), append(n.elevation, f.Elevation)
}

func (b *batch) save(ctx context.Context, tx pgx.Tx) error {
	q := &pgx.Batch{}
	if r := &b.r; len(r.site) > 0 {
		q.Queue(`INSERT INTO rejects (site, source, var, at, value, kind, fault, reason)
			SELECT * FROM unnest($1::text[], $2::text[], $3::bigint[], $4::bigint[], $5::float8[], $6::bigint[], $7::text[], $8::text[]) AS new (site, source, var, at, value, kind, fault, reason) ORDER BY 1, 2, 3, 4
			ON CONFLICT (site, source, var, at) DO UPDATE SET value = excluded.value, kind = excluded.kind, fault = excluded.fault, reason = excluded.reason`,
			r.site, r.source, r.v, r.at, r.value, r.kind, r.fault, r.reason)
	}
	if i := &b.issues; len(i.site) > 0 {
		q.Queue(`INSERT INTO forecasts (site, source, issued, hours) SELECT site, source, issued, hours FROM unnest($1::text[], $2::text[], $3::bigint[], $4::bytea[]) WITH ORDINALITY AS new (site, source, issued, hours, n)
			ORDER BY site, source, issued, n ON CONFLICT DO NOTHING`, i.site, i.source, i.issued, i.hours)
	}
	for _, n := range b.notes {
		q.Queue(`INSERT INTO sources (site, source, last_try, last_good, last_error, cause, consecutive, elevation)
			SELECT * FROM unnest($1::text[], $2::text[], $3::bigint[], $4::bigint[], $5::text[], $6::text[], $7::bigint[], $8::float8[]) AS new (site, source, last_try, last_good, last_error, cause, consecutive, elevation) ORDER BY 1, 2
			ON CONFLICT (site, source) DO UPDATE SET last_try = excluded.last_try, last_error = excluded.last_error, cause = excluded.cause,
				last_good = CASE excluded.consecutive WHEN 0 THEN excluded.last_good ELSE sources.last_good END,
				consecutive = CASE excluded.consecutive WHEN 0 THEN 0 ELSE sources.consecutive + 1 END,
				elevation = coalesce(excluded.elevation, sources.elevation)`,
			n.site, n.source, n.try, n.good, n.failure, n.causeText, n.bad, n.elevation)
	}
	if q.Len() == 0 {
		return nil
	}
	return tx.SendBatch(ctx, q).Close()
}
