package pgjobs

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/pgdb"
	"relevel/jobs"
)

const (
	// The salt of a name is that of whichever firm it led to first.
	insertSignIn = `
		INSERT INTO sign_in (name_hash, firm, salt)
		SELECT $1, $2, coalesce((SELECT salt FROM sign_in WHERE name_hash = $1 ORDER BY salt LIMIT 1), $3)
		ON CONFLICT (name_hash, firm) DO NOTHING`
	selectSalt = `
		SELECT salt
		FROM sign_in
		WHERE name_hash = $1 AND firm = $2`
	selectSignIns = `
		SELECT firm, salt
		FROM sign_in
		WHERE name_hash = $1
		ORDER BY firm`
	deleteOtherSignIns = `
		DELETE FROM sign_in
		WHERE firm = $1 AND name_hash <> $3
			AND name_hash IN (SELECT name_hash FROM account WHERE firm = $1 AND person = $2)`
	// Who leaves at the same time waits, or is waited for.
	lockPerson = `
		SELECT firm, id, name, role, created_at, left_at
		FROM person
		WHERE firm = $1 AND id = $2 AND left_at IS NULL
		FOR UPDATE`
	upsertAccount = `
		INSERT INTO account (firm, person, name, name_hash, password, created_at)
		VALUES ($1, $2, $3, $4, $5, $6)
		ON CONFLICT (firm, person) DO UPDATE
		SET name = excluded.name, name_hash = excluded.name_hash, password = excluded.password`
	selectAccount = `
		SELECT firm, person, name, password, created_at
		FROM account
		WHERE firm = $1 AND person = $2`
	selectAccountByName = `
		SELECT firm, person, name, password, created_at
		FROM account
		WHERE firm = $1 AND name_hash = $2`
	selectAccounts = `
		SELECT firm, person, name, password, created_at
		FROM account
		WHERE firm = $1
		ORDER BY person`
)

func scanAccount(row pgx.Row) (a jobs.Account, err error) {
	err = row.Scan(idInto(&a.Firm), idInto(&a.Person), &a.Name, &a.Password, &a.CreatedAt)
	a.CreatedAt = a.CreatedAt.UTC()
	return a, err
}

func scanSignIn(row pgx.Row) (s jobs.SignIn, err error) {
	var salt []byte
	err = row.Scan(idInto(&s.Firm), &salt)
	copy(s.Salt[:], salt)
	return s, err
}

// ClaimName implements jobs.Accounts.
func (s *Store) ClaimName(ctx context.Context, name events.Digest, firm events.ID, fresh jobs.Salt) (jobs.Salt, error) {
	var salt []byte
	err := s.create(ctx, firm,
		with(insertSignIn, name[:], uuid(firm), fresh[:]),
		with(selectSalt, name[:], uuid(firm)),
		func(row pgx.Row) error { return row.Scan(&salt) })
	if err != nil {
		return jobs.Salt{}, fmt.Errorf("claim a name: %w", err)
	}
	return jobs.Salt(salt), nil
}

// FindName implements jobs.Accounts.
func (s *Store) FindName(ctx context.Context, name events.Digest) (all []jobs.SignIn, err error) {
	err = s.db.BeforeFirm(ctx, func(b *pgx.Batch) {
		b.Queue(selectSignIns, name[:]).Query(func(rows pgx.Rows) (err error) {
			all, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (jobs.SignIn, error) { return scanSignIn(row) })
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("find a name: %w", err)
	}
	return all, nil
}

// SaveAccount implements jobs.Accounts.
func (s *Store) SaveAccount(ctx context.Context, a jobs.Account, except events.ID, at time.Time) error {
	if a.Firm.IsZero() {
		return fmt.Errorf("save account: %w", events.ErrNotFound)
	}
	err := s.db.WithFirm(ctx, a.Firm, func(tx pgx.Tx) error { return saveAccount(ctx, tx, a, except, at) })
	if err != nil {
		return fmt.Errorf("save account: %w", accountError(err))
	}
	return nil
}

// saveAccount is SaveAccount inside a transaction.
func saveAccount(ctx context.Context, tx pgx.Tx, a jobs.Account, except events.ID, at time.Time) error {
	if _, err := scanPerson(tx.QueryRow(ctx, lockPerson, uuid(a.Firm), uuid(a.Person))); err != nil {
		return err
	}
	hash := a.NameHash()
	if _, err := tx.Exec(ctx, deleteOtherSignIns, uuid(a.Firm), uuid(a.Person), hash[:]); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, upsertAccount, uuid(a.Firm), uuid(a.Person), a.Name, hash[:], a.Password, a.CreatedAt); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, endSessions, uuid(a.Firm), uuid(a.Person), orNull(except), at); err != nil {
		return err
	}
	_, err := tx.Exec(ctx, closeInvitations, uuid(a.Firm), uuid(a.Person), at)
	return err
}

// accountError says in the words of the interface why an account was not saved.
func accountError(err error) error {
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return events.ErrNotFound
	case pgdb.Code(err) == uniqueViolation:
		return fmt.Errorf("%w: %w", events.ErrConflict, err)
	}
	return err
}

// FindAccount implements jobs.Accounts.
func (s *Store) FindAccount(ctx context.Context, firm, person events.ID) (jobs.Account, error) {
	return s.findAccount(ctx, firm, with(selectAccount, uuid(firm), uuid(person)))
}

// FindAccountByName implements jobs.Accounts.
func (s *Store) FindAccountByName(ctx context.Context, firm events.ID, name events.Digest) (jobs.Account, error) {
	return s.findAccount(ctx, firm, with(selectAccountByName, uuid(firm), name[:]))
}

func (s *Store) findAccount(ctx context.Context, firm events.ID, find statement) (a jobs.Account, err error) {
	err = s.find(ctx, firm, find, func(row pgx.Row) (err error) { a, err = scanAccount(row); return err })
	if err != nil {
		return jobs.Account{}, fmt.Errorf("find account: %w", err)
	}
	return a, nil
}

// ListAccounts implements jobs.Accounts.
func (s *Store) ListAccounts(ctx context.Context, firm events.ID) ([]jobs.Account, error) {
	accounts, err := list(ctx, s, firm, selectAccounts, scanAccount)
	if err != nil {
		return nil, fmt.Errorf("list accounts: %w", err)
	}
	return accounts, nil
}
