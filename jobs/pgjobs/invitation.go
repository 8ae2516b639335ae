package pgjobs

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/jobs"
)

const (
	closeFirst = `
		UPDATE invitation
		SET closed_at = $2
		WHERE firm = $1 AND purpose = 'first' AND closed_at IS NULL`
	insertInvitation = `
		WITH who AS (SELECT id FROM person WHERE firm = $1 AND id = $5 AND left_at IS NULL FOR SHARE)
		INSERT INTO invitation (firm, id, secret_hash, purpose, person, made_by, created_at, expires_at)
		SELECT $1, $2, $3, $4, $5, $6, $7, $8
		WHERE $5::uuid IS NULL OR EXISTS (SELECT FROM who)
		RETURNING id`
	selectInvitation = `
		SELECT firm, id, secret_hash, purpose, person, made_by, created_at, expires_at
		FROM invitation
		WHERE firm = $1 AND secret_hash = $2 AND closed_at IS NULL AND expires_at > $3`
	selectInvitations = `
		SELECT firm, id, secret_hash, purpose, person, made_by, created_at, expires_at
		FROM invitation
		WHERE firm = $1 AND closed_at IS NULL AND expires_at > $2
		ORDER BY created_at DESC, id DESC`
	takeInvitation = `
		UPDATE invitation
		SET closed_at = $3
		WHERE firm = $1 AND secret_hash = $2 AND closed_at IS NULL AND expires_at > $3
		RETURNING firm, id, secret_hash, purpose, person, made_by, created_at, expires_at`
	revokeInvitation = `
		UPDATE invitation
		SET closed_at = coalesce(closed_at, $3)
		WHERE firm = $1 AND id = $2
		RETURNING id`
)

func scanInvitation(row pgx.Row) (i jobs.Invitation, err error) {
	var hash []byte
	var person, madeBy *[16]byte
	err = row.Scan(idInto(&i.Firm), idInto(&i.ID), &hash, &i.Purpose, &person, &madeBy, &i.CreatedAt, &i.ExpiresAt)
	copy(i.Hash[:], hash)
	i.Person, i.MadeBy = orZero(person), orZero(madeBy)
	i.CreatedAt, i.ExpiresAt = i.CreatedAt.UTC(), i.ExpiresAt.UTC()
	return i, err
}

// CreateInvitation implements jobs.Invitations.
func (s *Store) CreateInvitation(ctx context.Context, i jobs.Invitation) error {
	if i.Firm.IsZero() {
		return fmt.Errorf("create invitation: %w", events.ErrNotFound)
	}
	older := with(closeInvitations, uuid(i.Firm), uuid(i.Person), i.CreatedAt)
	if i.Purpose == jobs.First {
		older = with(closeFirst, uuid(i.Firm), i.CreatedAt)
	}
	err := s.db.Write(ctx, i.Firm, func(b *pgx.Batch) {
		b.Queue(older.sql, older.args...)
		b.Queue(insertInvitation, uuid(i.Firm), uuid(i.ID), i.Hash[:], string(i.Purpose), orNull(i.Person), orNull(i.MadeBy), i.CreatedAt, i.ExpiresAt).
			QueryRow(func(row pgx.Row) error { return row.Scan(new([16]byte)) })
	})
	if err != nil {
		return fmt.Errorf("create invitation: %w", missing(orNotFound(err)))
	}
	return nil
}

// FindInvitation implements jobs.Invitations.
func (s *Store) FindInvitation(ctx context.Context, firm events.ID, hash events.Digest, at time.Time) (i jobs.Invitation, err error) {
	err = s.find(ctx, firm, with(selectInvitation, uuid(firm), hash[:], at),
		func(row pgx.Row) (err error) { i, err = scanInvitation(row); return err })
	if err != nil {
		return jobs.Invitation{}, fmt.Errorf("find invitation: %w", err)
	}
	return i, nil
}

// TakeInvitation implements jobs.Invitations.
func (s *Store) TakeInvitation(ctx context.Context, hash events.Digest, at time.Time, a jobs.Arrival) error {
	if a.Firm.ID.IsZero() {
		return fmt.Errorf("take invitation: %w", events.ErrNotFound)
	}
	err := s.db.WithFirm(ctx, a.Firm.ID, func(tx pgx.Tx) error {
		i, err := scanInvitation(tx.QueryRow(ctx, takeInvitation, uuid(a.Firm.ID), hash[:], at))
		if err != nil {
			return err
		}
		if i.Purpose != jobs.First {
			account := a.Account
			account.Person = i.Person
			return saveAccount(ctx, tx, account, events.ID{}, at)
		}
		if _, err := tx.Exec(ctx, updateFirm, uuid(a.Firm.ID), a.Firm.Name, string(a.Firm.Words)); err != nil {
			return err
		}
		p := a.Person
		if _, err := tx.Exec(ctx, insertPerson, uuid(p.Firm), uuid(p.ID), p.Name, string(p.Role), p.CreatedAt); err != nil {
			return err
		}
		return saveAccount(ctx, tx, a.Account, events.ID{}, at)
	})
	if err != nil {
		return fmt.Errorf("take invitation: %w", accountError(err))
	}
	return nil
}

// RevokeInvitation implements jobs.Invitations.
func (s *Store) RevokeInvitation(ctx context.Context, firm, id events.ID, at time.Time) error {
	err := s.change(ctx, firm, with(revokeInvitation, uuid(firm), uuid(id), at), func(row pgx.Row) error { return row.Scan(idInto(&id)) })
	if err != nil {
		return fmt.Errorf("revoke invitation: %w", err)
	}
	return nil
}

// ListInvitations implements jobs.Invitations.
func (s *Store) ListInvitations(ctx context.Context, firm events.ID, at time.Time) ([]jobs.Invitation, error) {
	invitations, err := listOf(ctx, s, firm, with(selectInvitations, uuid(firm), at), scanInvitation)
	if err != nil {
		return nil, fmt.Errorf("list invitations: %w", err)
	}
	return invitations, nil
}
