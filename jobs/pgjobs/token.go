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
	insertToken = `
		INSERT INTO api_token (firm, id, token_hash, name, scope, device, person, created_at)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
		ON CONFLICT (firm, id) DO NOTHING`
	selectToken = `
		SELECT firm, id, token_hash, name, scope, device, person, created_at, revoked_at
		FROM api_token
		WHERE firm = $1 AND id = $2`
	selectTokenByHash = `
		SELECT firm, id, token_hash, name, scope, device, person, created_at, revoked_at
		FROM api_token
		WHERE firm = $1 AND token_hash = $2 AND revoked_at IS NULL`
	// What is still on a phone that lost its access is waited for no more.
	revokeToken = `
		WITH revoked AS (
			UPDATE api_token
			SET revoked_at = coalesce(revoked_at, $3)
			WHERE firm = $1 AND id = $2
			RETURNING firm, id, token_hash, name, scope, device, person, created_at, revoked_at
		), given_up AS (
			UPDATE phone SET oldest_unsent_at = NULL
			FROM revoked WHERE phone.firm = revoked.firm AND phone.device = revoked.device
		)
		SELECT firm, id, token_hash, name, scope, device, person, created_at, revoked_at
		FROM revoked`
	selectTokens = `
		SELECT firm, id, token_hash, name, scope, device, person, created_at, revoked_at
		FROM api_token
		WHERE firm = $1
		ORDER BY created_at DESC, id DESC`
)

func scanToken(row pgx.Row) (t jobs.Token, err error) {
	var hash []byte
	var device, person *[16]byte
	var revoked *time.Time
	err = row.Scan(idInto(&t.Firm), idInto(&t.ID), &hash, &t.Name, &t.Scope, &device, &person, &t.CreatedAt, &revoked)
	copy(t.Hash[:], hash)
	t.Device, t.Person, t.CreatedAt = orZero(device), orZero(person), t.CreatedAt.UTC()
	if revoked != nil {
		t.RevokedAt = revoked.UTC()
	}
	return t, err
}

// CreateToken implements jobs.Tokens.
func (s *Store) CreateToken(ctx context.Context, t jobs.Token) error {
	var kept jobs.Token
	err := s.create(ctx, t.Firm,
		with(insertToken, uuid(t.Firm), uuid(t.ID), t.Hash[:], t.Name, string(t.Scope), orNull(t.Device), orNull(t.Person), t.CreatedAt),
		with(selectToken, uuid(t.Firm), uuid(t.ID)),
		func(row pgx.Row) (err error) { kept, err = scanToken(row); return err })
	if err != nil {
		return fmt.Errorf("create token: %w", err)
	}
	if kept.Hash != t.Hash || kept.Name != t.Name || kept.Scope != t.Scope || kept.Device != t.Device || kept.Person != t.Person {
		return fmt.Errorf("create token: %w", events.ErrConflict)
	}
	return nil
}

// FindToken implements jobs.Tokens.
func (s *Store) FindToken(ctx context.Context, firm events.ID, hash events.Digest) (t jobs.Token, err error) {
	err = s.find(ctx, firm, with(selectTokenByHash, uuid(firm), hash[:]),
		func(row pgx.Row) (err error) { t, err = scanToken(row); return err })
	if err != nil {
		return jobs.Token{}, fmt.Errorf("find token: %w", err)
	}
	return t, nil
}

// RevokeToken implements jobs.Tokens.
func (s *Store) RevokeToken(ctx context.Context, firm, id events.ID, at time.Time) error {
	err := s.change(ctx, firm, with(revokeToken, uuid(firm), uuid(id), at),
		func(row pgx.Row) error { _, err := scanToken(row); return err })
	if err != nil {
		return fmt.Errorf("revoke token: %w", err)
	}
	return nil
}

// ListTokens implements jobs.Tokens.
func (s *Store) ListTokens(ctx context.Context, firm events.ID) ([]jobs.Token, error) {
	tokens, err := list(ctx, s, firm, selectTokens, scanToken)
	if err != nil {
		return nil, fmt.Errorf("list tokens: %w", err)
	}
	return tokens, nil
}
