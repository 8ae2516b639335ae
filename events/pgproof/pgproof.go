// Package pgproof keeps signed checkpoints in Postgres. It is a proof.Store.
package pgproof

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/pgdb"
	"relevel/events/proof"
)

// Store is a proof.Store on a database at the current schema.
type Store struct{ db *pgdb.DB }

// New makes a store on a pool under the role pgdb.App, which stays the caller's to
// close.
func New(db *pgdb.DB) *Store { return &Store{db: db} }

const (
	insertCheckpoint = `
		INSERT INTO checkpoint (firm, job, size, frontier, note, signed_at)
		VALUES ($1, $2, $3, $4, $5, $6)
		ON CONFLICT ON CONSTRAINT checkpoint_pkey DO NOTHING`
	selectCheckpoint = `
		SELECT size, frontier, note, signed_at FROM checkpoint
		WHERE firm = $1 AND job = $2 AND size = $3`
	selectLast = `
		SELECT size, frontier, note, signed_at FROM checkpoint
		WHERE firm = $1 AND job = $2 ORDER BY size DESC LIMIT 1`
	// One look-up at the end of each job's part of the key, however many
	// checkpoints it has.
	selectSizes = `
		SELECT j.job, c.size FROM unnest($2::uuid[]) AS j (job) CROSS JOIN LATERAL (
			SELECT size FROM checkpoint WHERE firm = $1 AND job = j.job ORDER BY size DESC LIMIT 1) c`
	insertFault = `
		INSERT INTO checkpoint_fault (firm, job, held, size, root, why, found_at)
		VALUES ($1, $2, $3, $4, $5, $6, $7)
		ON CONFLICT ON CONSTRAINT checkpoint_fault_pkey DO NOTHING`
	selectFaults = `
		SELECT held, size, root, why, found_at FROM checkpoint_fault
		WHERE firm = $1 AND job = $2 ORDER BY held`
)

// KeepCheckpoint implements proof.Checkpoints.
func (s *Store) KeepCheckpoint(ctx context.Context, firm, job events.ID, k proof.Kept) error {
	var kept proof.Kept
	err := s.db.Write(ctx, firm, func(b *pgx.Batch) {
		b.Queue(insertCheckpoint, [16]byte(firm), [16]byte(job), k.Size, joined(k.Frontier), k.Note, k.At.Truncate(time.Millisecond))
		queueKept(b, &kept, selectCheckpoint, [16]byte(firm), [16]byte(job), k.Size)
	})
	if err == nil && kept.Frontier.Root() != k.Frontier.Root() {
		err = events.ErrConflict
	}
	if err != nil {
		return fmt.Errorf("keep a checkpoint: %w", err)
	}
	return nil
}

// queueKept asks for one checkpoint.
func queueKept(b *pgx.Batch, into *proof.Kept, sql string, args ...any) {
	b.Queue(sql, args...).QueryRow(func(row pgx.Row) error {
		var frontier []byte
		err := row.Scan(&into.Size, &frontier, &into.Note, &into.At)
		if errors.Is(err, pgx.ErrNoRows) {
			return events.ErrNotFound
		}
		into.Frontier, into.At = parted(frontier), into.At.UTC()
		return err
	})
}

func joined(f events.Frontier) []byte {
	b := make([]byte, 0, len(f)*len(events.Hash{}))
	for _, h := range f {
		b = append(b, h[:]...)
	}
	return b
}

// parted takes apart what joined put together; the table holds the length.
func parted(b []byte) (f events.Frontier) {
	for ; len(b) > 0; b = b[len(events.Hash{}):] {
		f = append(f, events.Hash(b[:len(events.Hash{})]))
	}
	return f
}

// FindCheckpoint implements proof.Checkpoints.
func (s *Store) FindCheckpoint(ctx context.Context, firm, job events.ID, size int64) (proof.Kept, error) {
	return s.find(ctx, firm, selectCheckpoint, [16]byte(firm), [16]byte(job), size)
}

// LastCheckpoint implements proof.Checkpoints.
func (s *Store) LastCheckpoint(ctx context.Context, firm, job events.ID) (proof.Kept, error) {
	return s.find(ctx, firm, selectLast, [16]byte(firm), [16]byte(job))
}

func (s *Store) find(ctx context.Context, firm events.ID, sql string, args ...any) (proof.Kept, error) {
	var kept proof.Kept
	err := s.db.Read(ctx, firm, func(b *pgx.Batch) { queueKept(b, &kept, sql, args...) })
	if err != nil {
		return proof.Kept{}, fmt.Errorf("find a checkpoint: %w", err)
	}
	return kept, nil
}

// LastSizes implements proof.Checkpoints.
func (s *Store) LastSizes(ctx context.Context, firm events.ID, jobs []events.ID) (map[events.ID]int64, error) {
	asked := make([][16]byte, len(jobs))
	for i, job := range jobs {
		asked[i] = job
	}
	var sizes map[events.ID]int64
	err := s.db.Read(ctx, firm, func(b *pgx.Batch) {
		sizes = map[events.ID]int64{}
		b.Queue(selectSizes, [16]byte(firm), asked).Query(func(rows pgx.Rows) error {
			var job [16]byte
			var size int64
			_, err := pgx.ForEachRow(rows, []any{&job, &size}, func() error { sizes[job] = size; return nil })
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("find the last checkpoints: %w", err)
	}
	return sizes, nil
}

// KeepFault implements proof.Checkpoints.
func (s *Store) KeepFault(ctx context.Context, f proof.Fault) error {
	err := s.db.Write(ctx, f.Firm, func(b *pgx.Batch) {
		b.Queue(insertFault, [16]byte(f.Firm), [16]byte(f.Job), f.Held, f.Size, f.Root[:], f.Why, f.At.Truncate(time.Millisecond))
	})
	if err != nil {
		return fmt.Errorf("keep that a log does not agree: %w", err)
	}
	return nil
}

// ListFaults implements proof.Checkpoints.
func (s *Store) ListFaults(ctx context.Context, firm, job events.ID) (all []proof.Fault, err error) {
	err = s.db.Read(ctx, firm, func(b *pgx.Batch) {
		b.Queue(selectFaults, [16]byte(firm), [16]byte(job)).Query(func(rows pgx.Rows) (err error) {
			all, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (proof.Fault, error) {
				f := proof.Fault{Firm: firm, Job: job}
				var root []byte
				err := row.Scan(&f.Held, &f.Size, &root, &f.Why, &f.At)
				copy(f.Root[:], root)
				f.At = f.At.UTC()
				return f, err
			})
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("list where a log does not agree: %w", err)
	}
	return all, nil
}
