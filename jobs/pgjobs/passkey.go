package pgjobs

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/jobs"
)

const (
	insertPasskey = `
		INSERT INTO passkey (firm, id, person, name, credential, created_at)
		VALUES ($1, $2, $3, $4, $5, $6)
		RETURNING id`
	selectPasskeys = `
		SELECT firm, id, person, name, credential, created_at, used_at
		FROM passkey
		WHERE firm = $1 AND person = $2
		ORDER BY created_at DESC, id DESC`
	updatePasskey = `
		UPDATE passkey
		SET credential = $4, used_at = $5
		WHERE firm = $1 AND person = $2 AND id = $3
		RETURNING id`
	deletePasskey = `
		DELETE FROM passkey
		WHERE firm = $1 AND person = $2 AND id = $3
		RETURNING id`
	dropChallenges = `
		DELETE FROM challenge
		WHERE expires_at <= $1`
	insertChallenge = `
		INSERT INTO challenge (challenge_hash, body, expires_at)
		VALUES ($1, $2, $3)`
	takeChallenge = `
		DELETE FROM challenge
		WHERE challenge_hash = $1
		RETURNING body, expires_at`
)

func scanPasskey(row pgx.Row) (k jobs.Passkey, err error) {
	var used *time.Time
	err = row.Scan(idInto(&k.Firm), idInto(&k.ID), idInto(&k.Person), &k.Name, &k.Credential, &k.CreatedAt, &used)
	k.CreatedAt, k.UsedAt = k.CreatedAt.UTC(), orNever(used)
	return k, err
}

// CreatePasskey implements jobs.Passkeys.
func (s *Store) CreatePasskey(ctx context.Context, k jobs.Passkey) error {
	err := s.changePasskey(ctx, k.Firm, with(insertPasskey, uuid(k.Firm), uuid(k.ID), uuid(k.Person), k.Name, k.Credential, k.CreatedAt))
	if err != nil {
		return fmt.Errorf("create passkey: %w", missing(err))
	}
	return nil
}

// ListPasskeys implements jobs.Passkeys.
func (s *Store) ListPasskeys(ctx context.Context, firm, person events.ID) ([]jobs.Passkey, error) {
	keys, err := listOf(ctx, s, firm, with(selectPasskeys, uuid(firm), uuid(person)), scanPasskey)
	if err != nil {
		return nil, fmt.Errorf("list passkeys: %w", err)
	}
	return keys, nil
}

// UsePasskey implements jobs.Passkeys.
func (s *Store) UsePasskey(ctx context.Context, k jobs.Passkey) error {
	err := s.changePasskey(ctx, k.Firm, with(updatePasskey, uuid(k.Firm), uuid(k.Person), uuid(k.ID), k.Credential, orNullTime(k.UsedAt)))
	if err != nil {
		return fmt.Errorf("use passkey: %w", err)
	}
	return nil
}

// DeletePasskey implements jobs.Passkeys.
func (s *Store) DeletePasskey(ctx context.Context, firm, person, id events.ID) error {
	err := s.changePasskey(ctx, firm, with(deletePasskey, uuid(firm), uuid(person), uuid(id)))
	if err != nil {
		return fmt.Errorf("delete passkey: %w", err)
	}
	return nil
}

func (s *Store) changePasskey(ctx context.Context, firm events.ID, change statement) error {
	return s.change(ctx, firm, change, func(row pgx.Row) error {
		var id events.ID
		return row.Scan(idInto(&id))
	})
}

// KeepChallenge implements jobs.Passkeys.
func (s *Store) KeepChallenge(ctx context.Context, c jobs.Challenge, now time.Time) error {
	err := s.db.BeforeFirm(ctx, func(b *pgx.Batch) {
		b.Queue(dropChallenges, now)
		b.Queue(insertChallenge, c.Hash[:], c.Body, c.ExpiresAt)
	})
	if err != nil {
		return fmt.Errorf("keep a challenge: %w", err)
	}
	return nil
}

// TakeChallenge implements jobs.Passkeys.
func (s *Store) TakeChallenge(ctx context.Context, hash events.Digest, now time.Time) (jobs.Challenge, error) {
	c := jobs.Challenge{Hash: hash}
	err := s.db.BeforeFirm(ctx, func(b *pgx.Batch) {
		b.Queue(takeChallenge, hash[:]).QueryRow(func(row pgx.Row) error { return row.Scan(&c.Body, &c.ExpiresAt) })
	})
	c.ExpiresAt = c.ExpiresAt.UTC()
	if errors.Is(err, pgx.ErrNoRows) || (err == nil && !c.ExpiresAt.After(now)) {
		err = events.ErrNotFound
	}
	if err != nil {
		return jobs.Challenge{}, fmt.Errorf("take a challenge: %w", err)
	}
	return c, nil
}
