package postgres

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"plotwarden/store"
	"plotwarden/store/engine"
	"plotwarden/store/pack"
)

func addMessages(ctx context.Context, tx pgx.Tx, list []store.Message) error {
	q := &pgx.Batch{}
	for _, m := range list {
		if m.Key == "" {
			return errors.New("a message without a key")
		}
		q.Queue(`INSERT INTO outbox (key, person, channel, site, slot, body, told, next_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8) ON CONFLICT (key) DO NOTHING`,
			m.Key, m.Person, m.Channel, m.Site, micros(m.Slot), pack.Bytes(m.Body), pack.Bytes(m.Told), micros(m.Slot))
	}
	if q.Len() == 0 {
		return nil
	}
	return tx.SendBatch(ctx, q).Close()
}

// AddMessages puts messages that belong to no round into the outbox. A message
// whose key is there already is left as it is.
func (s *Store) AddMessages(ctx context.Context, list []store.Message) error {
	if len(list) == 0 {
		return nil
	}
	return s.change(ctx, "put messages into the outbox", func(tx pgx.Tx) error { return addMessages(ctx, tx, list) })
}

const deliveryColumns = `key, person, channel, site, slot, body, told, state, attempts, next_at, last_error, sent_at`

// isDue holds for messages that may be tried: pending ones whose time has come and
// attempts whose lease has run out. A start or a wait that lies too far ahead was
// written by a clock that has been put back since. $1 is now, $2 the lease, $3 the
// longest wait.
const isDue = `(state = 'pending' AND (next_at <= $1 OR attempts > 0 AND next_at > $1 + $3)
	OR state = 'sending' AND (next_at <= $1 - $2 OR next_at > $1::bigint + $2::bigint))`

var lease, maxWait = store.Lease.Microseconds(), engine.MaxWait.Microseconds()

// Due returns the messages that may be tried now, those of the earliest slot
// first, at most limit. Those that another worker is taking are left out.
func (s *Store) Due(ctx context.Context, now time.Time, limit int) ([]store.Delivery, error) {
	return s.deliveries(ctx, "list due messages", `SELECT `+deliveryColumns+` FROM outbox WHERE `+isDue+` ORDER BY slot, key LIMIT $4 FOR UPDATE SKIP LOCKED`, micros(now), lease, maxWait, limit)
}

// Begin takes a due message for one attempt and returns the attempt's number. It
// fails with ErrTaken when the message is not due: sent, given up, waiting, under
// an attempt younger than store.Lease, or being taken by another worker; and with
// ErrNotFound when there is no such message.
func (s *Store) Begin(ctx context.Context, key string, now time.Time) (attempt int, err error) {
	err = s.change(ctx, "begin to send "+key, func(tx pgx.Tx) error {
		err := tx.QueryRow(ctx, `UPDATE outbox SET state = 'sending', attempts = attempts + 1, next_at = $1
			WHERE key = (SELECT key FROM outbox WHERE key = $4 AND `+isDue+` FOR UPDATE SKIP LOCKED) RETURNING attempts`, micros(now), lease, maxWait, key).Scan(&attempt)
		if errors.Is(err, pgx.ErrNoRows) {
			return absentOr(ctx, tx, key, store.ErrTaken)
		}
		return err
	})
	return attempt, err
}

// Sent records that the message was accepted. It holds whoever's attempt it was:
// what has been accepted is not sent again.
func (s *Store) Sent(ctx context.Context, key string, now time.Time) error {
	return s.one(ctx, "record as sent "+key, key, nil, `UPDATE outbox SET state = 'sent', sent_at = coalesce(sent_at, $1), last_error = '' WHERE key = $2`, micros(now), key)
}

// Retry records that an attempt failed and when to try again, at most 48 hours
// ahead. ErrTaken says that the message is no longer under this attempt.
func (s *Store) Retry(ctx context.Context, key string, attempt int, next time.Time, cause error) error {
	return s.one(ctx, "record a failed attempt of "+key, key, store.ErrTaken, `UPDATE outbox SET state = 'pending', next_at = $1, last_error = $2 WHERE key = $3 AND state = 'sending' AND attempts = $4`,
		micros(next), engine.Text(cause.Error()), key, attempt)
}

// Fail gives a message up. ErrTaken says that the message is no longer under this
// attempt.
func (s *Store) Fail(ctx context.Context, key string, attempt int, cause error) error {
	return s.one(ctx, "give up "+key, key, store.ErrTaken, `UPDATE outbox SET state = 'failed', last_error = $1 WHERE key = $2 AND state = 'sending' AND attempts = $3`,
		engine.Text(cause.Error()), key, attempt)
}

// one runs an update that must change one row. Where it changes none, the error is
// ErrNotFound when the message is not there, and else otherwise.
func (s *Store) one(ctx context.Context, what, key string, otherwise error, query string, args ...any) error {
	return s.change(ctx, what, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, query, args...)
		if err != nil || tag.RowsAffected() > 0 {
			return err
		}
		return absentOr(ctx, tx, key, otherwise)
	})
}

func absentOr(ctx context.Context, tx pgx.Tx, key string, otherwise error) error {
	var n int
	if err := tx.QueryRow(ctx, `SELECT count(*) FROM outbox WHERE key = $1`, key).Scan(&n); err != nil {
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
	return first(s.deliveries(ctx, what, `SELECT `+deliveryColumns+` FROM outbox WHERE key = $1`, key))(what)
}

// LastTold returns Told of the newest message to a person about a site that has
// one, those given up apart; nil when there is none.
func (s *Store) LastTold(ctx context.Context, site, person string) ([]byte, error) {
	list, err := s.deliveries(ctx, "load what "+person+" was told", `SELECT `+deliveryColumns+` FROM outbox WHERE site = $1 AND person = $2 AND state <> 'failed' AND told <> $3 ORDER BY slot DESC, key LIMIT 1`, site, person, pack.Bytes(nil))
	if err != nil || len(list) == 0 {
		return nil, err
	}
	return list[0].Told, nil
}

// Deliveries returns the latest messages of a site, newest slot first, at most
// limit.
func (s *Store) Deliveries(ctx context.Context, site string, limit int) ([]store.Delivery, error) {
	return s.deliveries(ctx, "load messages of "+site, `SELECT `+deliveryColumns+` FROM outbox WHERE site = $1 ORDER BY slot DESC, key LIMIT $2`, site, limit)
}

// Newest returns the newest messages of a site to a person over a channel, at most
// limit.
func (s *Store) Newest(ctx context.Context, site, person, channel string, limit int) ([]store.Delivery, error) {
	return s.deliveries(ctx, "load messages to "+person, `SELECT `+deliveryColumns+` FROM outbox WHERE site = $1 AND person = $2 AND channel = $3 ORDER BY slot DESC, key LIMIT $4`, site, person, channel, limit)
}

// Failed returns the messages given up whose slot is at or after a time, in order
// of slot and key, at most limit.
func (s *Store) Failed(ctx context.Context, since time.Time, limit int) ([]store.Delivery, error) {
	return s.deliveries(ctx, "list failed messages", `SELECT `+deliveryColumns+` FROM outbox WHERE state = 'failed' AND slot >= $1 ORDER BY slot, key LIMIT $2`, micros(since), limit)
}

// Addressed returns who has a message of a site for a slot.
func (s *Store) Addressed(ctx context.Context, site string, slot time.Time) (map[string]bool, error) {
	people, err := list(ctx, s, "list who has a message of "+site, text, `SELECT DISTINCT person FROM outbox WHERE site = $1 AND slot = $2`, site, micros(slot))
	if err != nil {
		return nil, err
	}
	out := map[string]bool{}
	for _, p := range people {
		out[p] = true
	}
	return out, nil
}

func (s *Store) deliveries(ctx context.Context, what, query string, args ...any) ([]store.Delivery, error) {
	return list(ctx, s, what, func(row pgx.CollectableRow) (d store.Delivery, err error) {
		var slot, next int64
		var sent *int64
		var body, told []byte
		if err := row.Scan(&d.Key, &d.Person, &d.Channel, &d.Site, &slot, &body, &told, &d.State, &d.Attempts, &next, &d.LastErr, &sent); err != nil {
			return d, err
		}
		d.Slot, d.NextAt = instant(slot), instant(next)
		if sent != nil {
			d.SentAt = instant(*sent)
		}
		if d.Body, err = pack.OpenBytes(body); err == nil {
			d.Told, err = pack.OpenBytes(told)
		}
		if err != nil {
			return d, fmt.Errorf("message %s: %w", d.Key, err)
		}
		return d, nil
	}, query, args...)
}

// OutboxStats counts the messages by state.
func (s *Store) OutboxStats(ctx context.Context) (store.OutboxStats, error) {
	var st store.OutboxStats
	var oldest *int64
	err := s.pool.QueryRow(ctx, `SELECT count(*) FILTER (WHERE state = 'pending'), count(*) FILTER (WHERE state = 'sending'),
		count(*) FILTER (WHERE state = 'sent'), count(*) FILTER (WHERE state = 'failed'),
		min(slot) FILTER (WHERE state IN ('pending', 'sending')) FROM outbox`).Scan(&st.Pending, &st.Sending, &st.Sent, &st.Failed, &oldest)
	if oldest != nil {
		st.Oldest = instant(*oldest)
	}
	return st, s.explain("count messages", err)
}

// ClaimSlot takes a slot of a job for the caller, once and for all: ErrTaken says
// that it was taken before. A process that dies after the claim leaves the work
// undone, so claim what may be skipped; what must not be lost belongs into the
// messages of a round.
func (s *Store) ClaimSlot(ctx context.Context, job string, slot time.Time) error {
	what := fmt.Sprintf("claim %s at %s", job, slot.UTC().Format(time.RFC3339))
	tag, err := s.exec(ctx, what, `INSERT INTO slots (job, slot) VALUES ($1, $2) ON CONFLICT DO NOTHING`, job, micros(slot))
	if err == nil && tag.RowsAffected() == 0 {
		return fmt.Errorf("%s: %w", what, store.ErrTaken)
	}
	return err
}

// Prune frees what is of no more use: the bodies of finished messages whose slot
// is before the given time, what they told where a newer message tells it, and the
// slots claimed before that time. The keys of messages stay, so that none is ever
// sent twice.
func (s *Store) Prune(ctx context.Context, before time.Time) error {
	return s.change(ctx, "prune", func(tx pgx.Tx) error {
		empty := pack.Bytes(nil)
		if _, err := tx.Exec(ctx, `UPDATE outbox SET body = $1 WHERE slot < $2 AND state IN ('sent', 'failed') AND body <> $1`, empty, micros(before)); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `UPDATE outbox AS old SET told = $1 WHERE slot < $2 AND told <> $1 AND EXISTS
			(SELECT 1 FROM outbox AS new WHERE new.site = old.site AND new.person = old.person AND new.slot > old.slot AND new.state <> 'failed' AND new.told <> $1)`, empty, micros(before)); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `DELETE FROM slots WHERE slot < $1`, micros(before))
		return err
	})
}
