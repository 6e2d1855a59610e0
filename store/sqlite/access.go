package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"plotwarden/store"
	"plotwarden/store/engine"
)

const accountColumns = `person, login, role, password, passkeys, created, closed, rev`

// PutAccount writes an account and returns it with its new Rev. Its Rev is the one
// that the writer saw, 0 for a new account; when another stands there the error is
// ErrConflict. A login that another account has is ErrTaken.
func (s *Store) PutAccount(ctx context.Context, a store.Account) (store.Account, error) {
	what := "save the account of " + a.Person
	if err := engine.CheckAccount(a); err != nil {
		return a, fmt.Errorf("%s: %w", what, err)
	}
	err := s.change(ctx, what, func(tx *sql.Tx) error {
		var have int64
		err := tx.QueryRowContext(ctx, `SELECT rev FROM accounts WHERE person = ?`, a.Person).Scan(&have)
		if err != nil && !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		if a.Rev != have {
			return fmt.Errorf("version %d was changed, version %d is the newest: %w", a.Rev, have, store.ErrConflict)
		}
		var others int
		if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM accounts WHERE login = ? AND person <> ?`, a.Login, a.Person).Scan(&others); err != nil {
			return err
		}
		if others > 0 {
			return fmt.Errorf("login %s: %w", a.Login, store.ErrTaken)
		}
		a.Rev++
		_, err = tx.ExecContext(ctx, `INSERT INTO accounts (`+accountColumns+`) VALUES (?, ?, ?, ?, ?, ?, ?, ?)
			ON CONFLICT (person) DO UPDATE SET login = excluded.login, role = excluded.role, password = excluded.password, passkeys = excluded.passkeys,
				created = excluded.created, closed = excluded.closed, rev = excluded.rev`,
			a.Person, a.Login, a.Role, a.Password, engine.Blob(a.Passkeys), micros(a.Created), micros(a.Closed), a.Rev)
		return err
	})
	a.Created, a.Closed = instant(micros(a.Created)), instant(micros(a.Closed))
	return a, err
}

// Account returns the account of a person, or ErrNotFound.
func (s *Store) Account(ctx context.Context, person string) (store.Account, error) {
	return first(s.accounts(ctx, "load the account of "+person, ` WHERE person = ?`, person))("load the account of " + person)
}

// AccountByLogin returns the account with a login, or ErrNotFound.
func (s *Store) AccountByLogin(ctx context.Context, login string) (store.Account, error) {
	return first(s.accounts(ctx, "load the account "+login, ` WHERE login = ?`, login))("load the account " + login)
}

// Accounts returns all accounts, closed ones too, in order of person.
func (s *Store) Accounts(ctx context.Context) ([]store.Account, error) {
	return s.accounts(ctx, "load the accounts", ` ORDER BY person`)
}

func (s *Store) accounts(ctx context.Context, what, rest string, args ...any) ([]store.Account, error) {
	rows, err := s.read.QueryContext(ctx, `SELECT `+accountColumns+` FROM accounts`+rest, args...)
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	var out []store.Account
	for rows.Next() {
		var a store.Account
		var created, closed int64
		if err := rows.Scan(&a.Person, &a.Login, &a.Role, &a.Password, &a.Passkeys, &created, &closed, &a.Rev); err != nil {
			return nil, s.explain(what, err)
		}
		a.Created, a.Closed, a.Passkeys = instant(created), instant(closed), engine.NoBlob(a.Passkeys)
		out = append(out, a)
	}
	return out, s.explain(what, rows.Err())
}

// first takes the only entry of a list, and makes an empty one ErrNotFound.
func first[T any](list []T, err error) func(what string) (T, error) {
	return func(what string) (x T, _ error) {
		switch {
		case err != nil:
			return x, err
		case len(list) == 0:
			return x, fmt.Errorf("%s: %w", what, store.ErrNotFound)
		}
		return list[0], nil
	}
}

// AddAudit notes what somebody did. The store gives the entry its ID.
func (s *Store) AddAudit(ctx context.Context, a store.Audit) error {
	_, err := s.exec(ctx, "note "+a.Did, `INSERT INTO audits (at, person, address, did, object, detail) VALUES (?, ?, ?, ?, ?, ?)`, micros(a.At), a.Person, a.From, a.Did, a.On, a.Detail)
	return err
}

// Audits returns what was noted before the entry of an ID, or all when it is 0;
// the newest first, at most limit.
func (s *Store) Audits(ctx context.Context, before int64, limit int) ([]store.Audit, error) {
	const what = "load what people did"
	rows, err := s.read.QueryContext(ctx, `SELECT id, at, person, address, did, object, detail FROM audits WHERE ?1 = 0 OR id < ?1 ORDER BY id DESC LIMIT ?2`, before, limit)
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	var out []store.Audit
	for rows.Next() {
		var a store.Audit
		var at int64
		if err := rows.Scan(&a.ID, &at, &a.Person, &a.From, &a.Did, &a.On, &a.Detail); err != nil {
			return nil, s.explain(what, err)
		}
		a.At = instant(at)
		out = append(out, a)
	}
	return out, s.explain(what, rows.Err())
}

const grantColumns = `hash, id, kind, person, site, name, body, created, seen, expires, ended`

// AddGrant keeps a new grant. One whose hash or ID is there already is
// ErrConflict.
func (s *Store) AddGrant(ctx context.Context, g store.Grant) error {
	what := "keep a " + g.Kind + " of " + g.Person
	if err := engine.CheckGrant(g); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return s.change(ctx, what, func(tx *sql.Tx) error {
		res, err := tx.ExecContext(ctx, `INSERT INTO grants (`+grantColumns+`) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING`,
			g.Hash, g.ID, g.Kind, g.Person, g.Site, g.Name, engine.Blob(g.Body), micros(g.Created), micros(g.Seen), micros(g.Expires), micros(g.Ended))
		return changed(res, err, store.ErrConflict)
	})
}

// Grant returns the grant of a hash, whether it holds or not, or ErrNotFound.
func (s *Store) Grant(ctx context.Context, hash string) (store.Grant, error) {
	return first(s.grants(ctx, ` WHERE hash = ?`, hash))("load a grant")
}

// Grants returns the grants of a kind, person and site, in order of creation and
// ID; an empty part stands for any.
func (s *Store) Grants(ctx context.Context, kind, person, site string) ([]store.Grant, error) {
	return s.grants(ctx, ` WHERE (?1 = '' OR kind = ?1) AND (?2 = '' OR person = ?2) AND (?3 = '' OR site = ?3) ORDER BY created, id`, kind, person, site)
}

func (s *Store) grants(ctx context.Context, rest string, args ...any) ([]store.Grant, error) {
	const what = "load grants"
	rows, err := s.read.QueryContext(ctx, `SELECT `+grantColumns+` FROM grants`+rest, args...)
	if err != nil {
		return nil, s.explain(what, err)
	}
	defer rows.Close()
	var out []store.Grant
	for rows.Next() {
		var g store.Grant
		var created, seen, expires, ended int64
		if err := rows.Scan(&g.Hash, &g.ID, &g.Kind, &g.Person, &g.Site, &g.Name, &g.Body, &created, &seen, &expires, &ended); err != nil {
			return nil, s.explain(what, err)
		}
		g.Created, g.Seen, g.Expires, g.Ended = instant(created), instant(seen), instant(expires), instant(ended)
		g.Body = engine.NoBlob(g.Body)
		out = append(out, g)
	}
	return out, s.explain(what, rows.Err())
}

// SeeGrant notes when a grant was used; an earlier use than the noted one changes
// nothing. ErrNotFound says that there is no grant of the hash.
func (s *Store) SeeGrant(ctx context.Context, hash string, at time.Time) error {
	return s.change(ctx, "note the use of a grant", func(tx *sql.Tx) error {
		res, err := tx.ExecContext(ctx, `UPDATE grants SET seen = max(seen, ?) WHERE hash = ?`, micros(at), hash)
		return changed(res, err, store.ErrNotFound)
	})
}

// EndGrant ends a grant. ErrTaken says that it was ended before, ErrNotFound that
// there is none: of several that would end it, one succeeds.
func (s *Store) EndGrant(ctx context.Context, id string, at time.Time) error {
	return s.change(ctx, "end grant "+id, func(tx *sql.Tx) error {
		var ended int64
		err := tx.QueryRowContext(ctx, `SELECT ended FROM grants WHERE id = ?`, id).Scan(&ended)
		switch {
		case errors.Is(err, sql.ErrNoRows):
			return store.ErrNotFound
		case err != nil:
			return err
		case ended != engine.Never:
			return store.ErrTaken
		}
		_, err = tx.ExecContext(ctx, `UPDATE grants SET ended = ? WHERE id = ?`, micros(at), id)
		return err
	})
}

// PruneGrants removes the grants that expired or were ended before a time.
func (s *Store) PruneGrants(ctx context.Context, before time.Time) error {
	_, err := s.exec(ctx, "remove old grants", `DELETE FROM grants WHERE ended <> ?1 AND ended < ?2 OR expires <> ?1 AND expires < ?2`, engine.Never, micros(before))
	return err
}

// changed gives otherwise when a statement changed no row.
func changed(res sql.Result, err, otherwise error) error {
	if err != nil {
		return err
	}
	if n, err := res.RowsAffected(); err != nil || n > 0 {
		return err
	}
	return otherwise
}
