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
	dropPairings = `
		DELETE FROM pairing
		WHERE expires_at <= $1`
	insertPairing = `
		INSERT INTO pairing (code_hash, firm, expires_at)
		VALUES ($1, $2, $3)`
	takePairing = `
		DELETE FROM pairing
		WHERE code_hash = $1
		RETURNING firm, expires_at`
)

// CreatePairing implements jobs.Pairings.
func (s *Store) CreatePairing(ctx context.Context, p jobs.Pairing, now time.Time) error {
	if p.Firm.IsZero() {
		return fmt.Errorf("create pairing: %w", events.ErrNotFound)
	}
	err := s.db.Write(ctx, p.Firm, func(b *pgx.Batch) {
		b.Queue(dropPairings, now)
		b.Queue(insertPairing, p.Hash[:], uuid(p.Firm), p.ExpiresAt)
	})
	switch pgdb.Code(err) {
	case foreignKeyViolation:
		return fmt.Errorf("create pairing: %w: %w", events.ErrNotFound, err)
	case uniqueViolation:
		return fmt.Errorf("create pairing: %w: %w", events.ErrConflict, err)
	}
	if err != nil {
		return fmt.Errorf("create pairing: %w", err)
	}
	return nil
}

// TakePairing implements jobs.Pairings.
func (s *Store) TakePairing(ctx context.Context, hash events.Digest, now time.Time) (events.ID, error) {
	var firm events.ID
	var until time.Time
	err := s.db.BeforeFirm(ctx, func(b *pgx.Batch) {
		b.Queue(takePairing, hash[:]).QueryRow(func(row pgx.Row) error { return row.Scan(idInto(&firm), &until) })
	})
	if errors.Is(err, pgx.ErrNoRows) || (err == nil && !until.After(now)) {
		return events.ID{}, fmt.Errorf("take pairing: %w", events.ErrNotFound)
	}
	if err != nil {
		return events.ID{}, fmt.Errorf("take pairing: %w", err)
	}
	return firm, nil
}
