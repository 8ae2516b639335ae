package pgjobs

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"relevel/events"
	"relevel/jobs"
)

const (
	// takeTry is jobs.Pace.Take in one statement, which the row's lock makes exact.
	takeTry = `
		INSERT INTO attempt AS a (of_hash, over_at)
		VALUES ($1, $2::timestamptz + $3::interval)
		ON CONFLICT ON CONSTRAINT attempt_pkey DO UPDATE SET over_at = greatest(a.over_at, $2) + $3
		WHERE greatest(a.over_at, $2) + $3 <= $2 + $4::interval`
	// forgetTries waits for nobody: what is tried right now is forgotten the next time.
	forgetTries = `
		DELETE FROM attempt
		WHERE of_hash IN (SELECT of_hash FROM attempt WHERE over_at <= $1 FOR UPDATE SKIP LOCKED)`
)

// TakeTry implements jobs.Tries.
func (s *Store) TakeTry(ctx context.Context, of events.Digest, pace jobs.Pace, now time.Time) (may bool, err error) {
	err = s.db.BeforeFirm(ctx, func(b *pgx.Batch) {
		b.Queue(takeTry, of[:], now, pace.Every, time.Duration(pace.Burst)*pace.Every).Exec(func(tag pgconn.CommandTag) error {
			may = tag.RowsAffected() == 1
			return nil
		})
	})
	if err != nil {
		return false, fmt.Errorf("count a try: %w", err)
	}
	return may, nil
}

// ForgetTries implements jobs.Tries.
func (s *Store) ForgetTries(ctx context.Context, now time.Time) error {
	err := s.db.BeforeFirm(ctx, func(b *pgx.Batch) { b.Queue(forgetTries, now) })
	if err != nil {
		return fmt.Errorf("forget tries: %w", err)
	}
	return nil
}
