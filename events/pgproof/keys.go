package pgproof

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events/proof"
)

const (
	// A key is retired once: whoever says it again, or has not heard, changes nothing.
	upsertKey = `
		INSERT INTO public_key AS kept (verifier, from_at, until_at)
		VALUES ($1, $2, $3)
		ON CONFLICT ON CONSTRAINT public_key_pkey DO UPDATE SET until_at = excluded.until_at
		WHERE kept.until_at IS NULL AND excluded.until_at IS NOT NULL`
	selectKeys = `SELECT verifier, from_at, until_at FROM public_key ORDER BY from_at, verifier COLLATE "C"`
)

// KeepKey implements proof.Keys.
func (s *Store) KeepKey(ctx context.Context, k proof.PublicKey) error {
	var until *time.Time
	if !k.Until.IsZero() {
		at := k.Until.UTC().Truncate(time.Second)
		until = &at
	}
	err := s.db.BeforeFirm(ctx, func(b *pgx.Batch) {
		b.Queue(upsertKey, k.Verifier, k.From.UTC().Truncate(time.Second), until)
	})
	if err != nil {
		return fmt.Errorf("keep a public key: %w", err)
	}
	return nil
}

// ListKeys implements proof.Keys.
func (s *Store) ListKeys(ctx context.Context) (all []proof.PublicKey, err error) {
	err = s.db.BeforeFirm(ctx, func(b *pgx.Batch) {
		b.Queue(selectKeys).Query(func(rows pgx.Rows) (err error) {
			all, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (proof.PublicKey, error) {
				var k proof.PublicKey
				var until *time.Time
				err := row.Scan(&k.Verifier, &k.From, &until)
				k.From = k.From.UTC()
				if until != nil {
					k.Until = until.UTC()
				}
				return k, err
			})
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("list public keys: %w", err)
	}
	return all, nil
}
