package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"plotwarden/store"
	"plotwarden/store/pack"
)

// maxWait is the longest that a message waits for its next attempt. A longer
// wait can only come from a clock that was wrong when it was written.
const maxWait = 48 * time.Hour

func addMessage(ctx context.Context, tx *sql.Tx, m store.Message) error {
	if m.Key == "" {
		return errors.New("a message without a key")
	}
	_, err := tx.ExecContext(ctx, `INSERT INTO outbox (key, person, channel, site, slot, body, told, next_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (key) DO NOTHING`,
		m.Key, m.Person, m.Channel, m.Site, micros(m.Slot), pack.Bytes(m.Body), pack.Bytes(m.Told), micros(m.Slot))
	return err
}

const deliveryColumns = `key, person, channel, site, slot, body, told, state, attempts, next_at, last_error, sent_at`

// isDue holds for messages that may be tried: pending ones whose time has come
// and attempts whose lease has run out. A start or a wait that lies too far
// ahead was written by a clock that has been put back since. ?1 is now, ?2 the
// lease, ?3 the longest wait.
const isDue = `(state = 'pending' AND (next_at <= ?1 OR attempts > 0 AND next_at > ?1 + ?3)
	OR state = 'sending' AND (next_at <= ?1 - ?2 OR next_at > ?1 + ?2))`

// Due returns the messages that may be tried now, those of the earliest slot
// first, at most limit.
func (s *Store) Due(ctx context.Context, now time.Time, limit int) ([]store.Delivery, error) {
	return s.deliveries(ctx, "list due messages", `SELECT `+deliveryColumns+` FROM outbox WHERE `+isDue+` ORDER BY slot, key LIMIT ?4`,
		micros(now), store.Lease.Microseconds(), maxWait.Microseconds(), limit)
}

// Begin takes a due message for one attempt and returns the attempt's number.
// It fails with ErrTaken when the message is not due: sent, given up, waiting,
// or under an attempt younger than store.Lease; and with ErrNotFound when there
// is no such message.
func (s *Store) Begin(ctx context.Context, key string, now time.Time) (attempt int, err error) {
	err = s.change(ctx, "begin to send "+key, func(tx *sql.Tx) error {
		err := tx.QueryRowContext(ctx, `UPDATE outbox SET state = 'sending', attempts = attempts + 1, next_at = ?1 WHERE key = ?4 AND `+isDue+` RETURNING attempts`,
			micros(now), store.Lease.Microseconds(), maxWait.Microseconds(), key).Scan(&attempt)
		if errors.Is(err, sql.ErrNoRows) {
			return absentOr(ctx, tx, key, store.ErrTaken)
		}
		return err
	})
	return attempt, err
}

// Sent records that the message was accepted. It holds whoever's attempt it
// was: what has been accepted is not sent again.
func (s *Store) Sent(ctx context.Context, key string, now time.Time) error {
	return s.change(ctx, "record as sent "+key, func(tx *sql.Tx) error {
		return one(ctx, tx, key, nil, `UPDATE outbox SET state = 'sent', sent_at = coalesce(sent_at, ?), last_error = '' WHERE key = ?`, micros(now), key)
	})
}

// Retry records that an attempt failed and when to try again, at most 48 hours
// ahead. ErrTaken says that the message is no longer under this attempt.
func (s *Store) Retry(ctx context.Context, key string, attempt int, next time.Time, cause error) error {
	return s.change(ctx, "record a failed attempt of "+key, func(tx *sql.Tx) error {
		return one(ctx, tx, key, store.ErrTaken, `UPDATE outbox SET state = 'pending', next_at = ?, last_error = ? WHERE key = ? AND state = 'sending' AND attempts = ?`,
			micros(next), cause.Error(), key, attempt)
	})
}

// Fail gives a message up. ErrTaken says that the message is no longer under
// this attempt.
func (s *Store) Fail(ctx context.Context, key string, attempt int, cause error) error {
	return s.change(ctx, "give up "+key, func(tx *sql.Tx) error {
		return one(ctx, tx, key, store.ErrTaken, `UPDATE outbox SET state = 'failed', last_error = ? WHERE key = ? AND state = 'sending' AND attempts = ?`,
			cause.Error(), key, attempt)
	})
}

// one runs an update that must change one row. Where it changes none, the
// error is ErrNotFound when the message is not there, and else otherwise.
func one(ctx context.Context, tx *sql.Tx, key string, otherwise error, query string, args ...any) error {
	res, err := tx.ExecContext(ctx, query, args...)
	if err != nil {
		return err
	}
	if n, err := res.RowsAffected(); err != nil || n > 0 {
		return err
	}
	return absentOr(ctx, tx, key, otherwise)
}

func absentOr(ctx context.Context, tx *sql.Tx, key string, otherwise error) error {
	var n int
	if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM outbox WHERE key = ?`, key).Scan(&n); err != nil {
		return err
	}
	if n == 0 {
		return store.ErrNotFound
	}
	return otherwise
}

// Delivery returns one message and what became of it, or ErrNotFound.
func (s *Store) Delivery(ctx context.Context, key string) (store.Delivery, error) {
	what := "load message " + key
	list, err := s.deliveries(ctx, what, `SELECT `+deliveryColumns+` FROM outbox WHERE key = ?`, key)
	if err != nil {
		return store.Delivery{}, err
	}
	if len(list) == 0 {
		return store.Delivery{}, fmt.Errorf("%s: %w", what, store.ErrNotFound)
	}
	return list[0], nil
}

// LastTold returns Told of the newest message to a person about a site that has
// one, those given up apart; nil when there is none.
func (s *Store) LastTold(ctx context.Context, site, person string) ([]byte, error) {
	list, err := s.deliveries(ctx, "load what "+person+" was told", `SELECT `+deliveryColumns+` FROM outbox WHERE site = ? AND person = ? AND state <> 'failed' AND told <> ? ORDER BY slot DESC, key LIMIT 1`, site, person, pack.Bytes(nil))
	if err != nil || len(list) == 0 {
		return nil, err
	}
	return list[0].Told, nil
}

// Deliveries returns the latest messages of a site, newest slot first, at most
// limit.
func (s *Store) Deliveries(ctx context.Context, site string, limit int) ([]store.Delivery, error) {
	return s.deliveries(ctx, "load messages of "+site, `SELECT `+deliveryColumns+` FROM outbox WHERE site = ? ORDER BY slot DESC, key LIMIT ?`, site, limit)
}

// Newest returns the newest messages of a site to a person over a channel, at most
// limit.
func (s *Store) Newest(ctx context.Context, site, person, channel string, limit int) ([]store.Delivery, error) {
	return s.deliveries(ctx, "load messages to "+person, `SELECT `+deliveryColumns+` FROM outbox WHERE site = ? AND person = ? AND channel = ? ORDER BY slot DESC, key LIMIT ?`, site, person, channel, limit)
}

// Failed returns the messages given up whose slot is at or after a time, in order
// of slot and key, at most limit.
func (s *Store) Failed(ctx context.Context, since time.Time, limit int) ([]store.Delivery, error) {
	return s.deliveries(ctx, "list failed messages", `SELECT `+deliveryColumns+` FROM outbox WHERE state = 'failed' AND slot >= ? ORDER BY slot, key LIMIT ?`, micros(since), limit)
}

// Addressed returns who has a message of a site for a slot.
func (s *Store) Addressed(ctx context.Context, site string, slot time.Time) (map[string]bool, error) {
	what := "list who has a message of " + site
	rows, err := s.read.QueryContext(ctx, `SELECT DISTINCT person FROM outbox WHERE site = ? AND slot = ?`, site, micros(slot))
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	out := map[string]bool{}
	for rows.Next() {
		var person string
		if err := rows.Scan(&person); err != nil {
			return nil, s.explain(what, err)
		}
		out[person] = true
	}
	return out, s.explain(what, rows.Err())
}

func (s *Store) deliveries(ctx context.Context, what, query string, args ...any) ([]store.Delivery, error) {
	rows, err := s.read.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	var out []store.Delivery
	for rows.Next() {
		var d store.Delivery
		var slot, next int64
		var sent sql.NullInt64
		var body, told []byte
		if err := rows.Scan(&d.Key, &d.Person, &d.Channel, &d.Site, &slot, &body, &told, &d.State, &d.Attempts, &next, &d.LastErr, &sent); err != nil {
			return nil, s.explain(what, err)
		}
		d.Slot, d.NextAt = instant(slot), instant(next)
		if sent.Valid {
			d.SentAt = instant(sent.Int64)
		}
		if d.Body, err = pack.OpenBytes(body); err != nil {
			return nil, fmt.Errorf("%s: message %s: %w", what, d.Key, err)
		}
		if d.Told, err = pack.OpenBytes(told); err != nil {
			return nil, fmt.Errorf("%s: message %s: %w", what, d.Key, err)
		}
		out = append(out, d)
	}
	return out, s.explain(what, rows.Err())
}

// OutboxStats counts the messages by state.
func (s *Store) OutboxStats(ctx context.Context) (store.OutboxStats, error) {
	var st store.OutboxStats
	var oldest sql.NullInt64
	err := s.read.QueryRowContext(ctx, `SELECT count(*) FILTER (WHERE state = 'pending'), count(*) FILTER (WHERE state = 'sending'),
		count(*) FILTER (WHERE state = 'sent'), count(*) FILTER (WHERE state = 'failed'),
		min(slot) FILTER (WHERE state IN ('pending', 'sending')) FROM outbox`).Scan(&st.Pending, &st.Sending, &st.Sent, &st.Failed, &oldest)
	if oldest.Valid {
		st.Oldest = instant(oldest.Int64)
	}
	return st, s.explain("count messages", err)
}
