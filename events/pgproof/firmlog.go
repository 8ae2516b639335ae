package pgproof

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/pgdb"
	"relevel/events/proof"
)

const (
	selectUnlogged = `
		SELECT DISTINCT ON (c.job) c.job, c.size, c.note FROM checkpoint c
		WHERE c.firm = $1
			AND c.size > coalesce((SELECT max(l.size) FROM firm_leaf l WHERE l.firm = c.firm AND l.job = c.job), 0)
		ORDER BY c.job, c.size DESC`
	// A gap in the numbers adds nothing; a number that is taken is the key's to
	// refuse.
	insertLeaf = `
		INSERT INTO firm_leaf (firm, seq, job, size, leaf)
		SELECT $1::uuid, $2::bigint, $3::uuid, $4::bigint, $5::bytea
		WHERE $2 = 1 OR EXISTS (SELECT FROM firm_leaf WHERE firm = $1 AND seq = $2 - 1)`
	insertFirmCheckpoint = `
		INSERT INTO firm_checkpoint (firm, size, frontier, note, signed_at)
		VALUES ($1, $2, $3, $4, $5)`
	selectEntries = `
		SELECT l.seq, l.job, l.size, l.leaf, c.note
		FROM firm_leaf l JOIN checkpoint c ON c.firm = l.firm AND c.job = l.job AND c.size = l.size
		WHERE l.firm = $1 AND l.seq > $2
		ORDER BY l.seq LIMIT $3`
	selectLastFirm = `
		SELECT size, frontier, note, signed_at FROM firm_checkpoint
		WHERE firm = $1 ORDER BY size DESC LIMIT 1`
)

const uniqueViolation = "23505"

// Unlogged implements proof.FirmLog.
func (s *Store) Unlogged(ctx context.Context, firm events.ID) (more []proof.Entry, err error) {
	err = s.db.Read(ctx, firm, func(b *pgx.Batch) {
		b.Queue(selectUnlogged, [16]byte(firm)).Query(func(rows pgx.Rows) (err error) {
			more, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (e proof.Entry, err error) {
				return e, row.Scan((*[16]byte)(&e.Job), &e.Size, &e.Note)
			})
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("find what is not in the firm's log: %w", err)
	}
	return more, nil
}

// ExtendFirmLog implements proof.FirmLog.
func (s *Store) ExtendFirmLog(ctx context.Context, firm events.ID, more []proof.Entry, k proof.Kept) error {
	err := s.db.WithFirm(ctx, firm, func(tx pgx.Tx) error {
		for _, e := range more {
			tag, err := tx.Exec(ctx, insertLeaf, [16]byte(firm), e.Seq, [16]byte(e.Job), e.Size, e.Leaf[:])
			if err != nil {
				return err
			}
			if tag.RowsAffected() == 0 {
				return events.ErrConflict
			}
		}
		_, err := tx.Exec(ctx, insertFirmCheckpoint, [16]byte(firm), k.Size, joined(k.Frontier), k.Note, k.At.Truncate(time.Millisecond))
		return err
	})
	if pgdb.Code(err) == uniqueViolation {
		err = fmt.Errorf("%w: %w", events.ErrConflict, err)
	}
	if err != nil {
		return fmt.Errorf("extend the firm's log: %w", err)
	}
	return nil
}

// ListEntries implements proof.FirmLog.
func (s *Store) ListEntries(ctx context.Context, firm events.ID, after int64, limit int) (all []proof.Entry, err error) {
	err = s.db.Read(ctx, firm, func(b *pgx.Batch) {
		b.Queue(selectEntries, [16]byte(firm), after, max(limit, 0)).Query(func(rows pgx.Rows) (err error) {
			all, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (proof.Entry, error) {
				var e proof.Entry
				var leaf []byte
				err := row.Scan(&e.Seq, (*[16]byte)(&e.Job), &e.Size, &leaf, &e.Note)
				copy(e.Leaf[:], leaf)
				return e, err
			})
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("read the firm's log: %w", err)
	}
	return all, nil
}

// LastFirmCheckpoint implements proof.FirmLog.
func (s *Store) LastFirmCheckpoint(ctx context.Context, firm events.ID) (proof.Kept, error) {
	return s.find(ctx, firm, selectLastFirm, [16]byte(firm))
}
