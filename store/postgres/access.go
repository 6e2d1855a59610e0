package postgres

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

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
	saw := a.Rev
	err := s.change(ctx, what, func(tx pgx.Tx) error {
		var have int64
		err := tx.QueryRow(ctx, `SELECT rev FROM accounts WHERE person = $1 FOR UPDATE`, a.Person).Scan(&have)
		if err != nil && !errors.Is(err, pgx.ErrNoRows) {
			return err
		}
		if saw != have {
			return fmt.Errorf("version %d was changed, version %d is the newest: %w", saw, have, store.ErrConflict)
		}
		a.Rev = saw + 1
		// Of two who make one account at once, the second waits here and changes
		// nothing.
		tag, err := tx.Exec(ctx, `INSERT INTO accounts (`+accountColumns+`) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
			ON CONFLICT (person) DO UPDATE SET login = excluded.login, role = excluded.role, password = excluded.password, passkeys = excluded.passkeys,
				created = excluded.created, closed = excluded.closed, rev = excluded.rev WHERE accounts.rev = $9`,
			a.Person, a.Login, a.Role, a.Password, engine.Blob(a.Passkeys), micros(a.Created), micros(a.Closed), a.Rev, saw)
		var e *pgconn.PgError
		if errors.As(err, &e) && e.ConstraintName == "accounts_login" {
			return fmt.Errorf("login %s: %w", a.Login, store.ErrTaken)
		}
		if err == nil && tag.RowsAffected() == 0 {
			return store.ErrConflict
		}
		return err
	})
	a.Created, a.Closed = instant(micros(a.Created)), instant(micros(a.Closed))
	return a, err
}

// Account returns the account of a person, or ErrNotFound.
func (s *Store) Account(ctx context.Context, person string) (store.Account, error) {
	what := "load the account of " + person
	return first(s.accounts(ctx, what, ` WHERE person = $1`, person))(what)
}

// AccountByLogin returns the account with a login, or ErrNotFound.
func (s *Store) AccountByLogin(ctx context.Context, login string) (store.Account, error) {
	what := "load the account " + login
	return first(s.accounts(ctx, what, ` WHERE login = $1`, login))(what)
}

// Accounts returns all accounts, closed ones too, in order of person.
func (s *Store) Accounts(ctx context.Context) ([]store.Account, error) {
	return s.accounts(ctx, "load the accounts", ` ORDER BY person`)
}

func (s *Store) accounts(ctx context.Context, what, rest string, args ...any) ([]store.Account, error) {
	return list(ctx, s, what, func(row pgx.CollectableRow) (a store.Account, err error) {
		var created, closed int64
		err = row.Scan(&a.Person, &a.Login, &a.Role, &a.Password, &a.Passkeys, &created, &closed, &a.Rev)
		a.Created, a.Closed, a.Passkeys = instant(created), instant(closed), engine.NoBlob(a.Passkeys)
		return a, err
	}, `SELECT `+accountColumns+` FROM accounts`+rest, args...)
}

// AddAudit notes what somebody did. The store gives the entry its ID.
func (s *Store) AddAudit(ctx context.Context, a store.Audit) error {
	_, err := s.exec(ctx, "note "+a.Did, `INSERT INTO audits (at, person, address, did, object, detail) VALUES ($1, $2, $3, $4, $5, $6)`,
		micros(a.At), engine.Text(a.Person), engine.Text(a.From), engine.Text(a.Did), engine.Text(a.On), engine.Text(a.Detail))
	return err
}

// Audits returns what was noted before the entry of an ID, or all when it is 0; the
// newest first, at most limit.
func (s *Store) Audits(ctx context.Context, before int64, limit int) ([]store.Audit, error) {
	return list(ctx, s, "load what people did", func(row pgx.CollectableRow) (a store.Audit, err error) {
		var at int64
		err = row.Scan(&a.ID, &at, &a.Person, &a.From, &a.Did, &a.On, &a.Detail)
		a.At = instant(at)
		return a, err
	}, `SELECT id, at, person, address, did, object, detail FROM audits WHERE $1::bigint = 0 OR id < $1 ORDER BY id DESC LIMIT $2`, before, limit)
}
