package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"plotwarden/store"
	"plotwarden/store/pack"
)

// ClaimSlot takes a slot of a job for the caller, once and for all: ErrTaken
// says that it was taken before. A process that dies after the claim leaves the
// work undone, so claim what may be skipped; what must not be lost belongs into
// the messages of a round.
func (s *Store) ClaimSlot(ctx context.Context, job string, slot time.Time) error {
	what := fmt.Sprintf("claim %s at %s", job, slot.UTC().Format(time.RFC3339))
	return s.change(ctx, what, func(tx *sql.Tx) error {
		res, err := tx.ExecContext(ctx, `INSERT INTO slots (job, slot) VALUES (?, ?) ON CONFLICT DO NOTHING`, job, micros(slot))
		if err != nil {
			return err
		}
		if n, err := res.RowsAffected(); err != nil || n > 0 {
			return err
		}
		return store.ErrTaken
	})
}

// Prune frees what is of no more use: the bodies of finished messages whose
// slot is before the given time, what they told where a newer message tells it,
// and the slots claimed before that time. The keys of messages stay, so that
// none is ever sent twice.
func (s *Store) Prune(ctx context.Context, before time.Time) error {
	return s.change(ctx, "prune", func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `UPDATE outbox SET body = ? WHERE slot < ? AND state IN ('sent', 'failed')`, pack.Bytes(nil), micros(before)); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `UPDATE outbox AS old SET told = ?1 WHERE slot < ?2 AND EXISTS
			(SELECT 1 FROM outbox AS new WHERE new.site = old.site AND new.person = old.person AND new.slot > old.slot AND new.state <> 'failed' AND new.told <> ?1)`, pack.Bytes(nil), micros(before)); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `DELETE FROM slots WHERE slot < ?`, micros(before))
		return err
	})
}
