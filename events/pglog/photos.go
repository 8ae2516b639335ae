package pglog

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/pgdb"
)

// Ledger is an events.Ledger in Postgres.
type Ledger struct {
	db *pgdb.DB
}

// NewLedger returns a ledger over a pool of the app role, which stays the
// caller's.
func NewLedger(db *pgdb.DB) *Ledger { return &Ledger{db} }

const (
	// A commit that does not wait for the disk. What is only received promises nothing,
	// and the record that does comes a moment later.
	withoutWaiting = `SELECT set_config('synchronous_commit', 'off', true)`

	// The states are compared by their place in the list, which is the order
	// of events.FileState.Rank.
	recordFile = `
		INSERT INTO photo AS kept (firm, sha256, type, bytes, media_type, state, at, reason)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
		ON CONFLICT (firm, sha256) DO UPDATE
		SET type = excluded.type, bytes = excluded.bytes, media_type = excluded.media_type,
			state = excluded.state, at = excluded.at, reason = excluded.reason
		WHERE array_position(ARRAY['received', 'stored', 'durable'], kept.state)
			< array_position(ARRAY['received', 'stored', 'durable'], excluded.state)`
	changeFile = `
		UPDATE photo
		SET type = $5, bytes = $6, media_type = $7, state = $8, at = $9, reason = $10
		WHERE firm = $1 AND sha256 = $2 AND state = $3 AND at = $4
		RETURNING true`
	selectFile = `
		SELECT firm, sha256, type, bytes, media_type, state, at, reason
		FROM photo
		WHERE firm = $1 AND sha256 = $2`
	selectFiles = `
		SELECT firm, sha256, type, bytes, media_type, state, at, reason
		FROM photo
		WHERE firm = $1 AND sha256 = ANY($2)`
	selectOldestFiles = `
		SELECT firm, sha256, type, bytes, media_type, state, at, reason
		FROM photo
		WHERE firm = $1 AND state = $2 AND at < $3
		ORDER BY at, sha256
		LIMIT $4`
)

func scanKept(row pgx.CollectableRow) (events.Kept, error) {
	var k events.Kept
	var digest []byte
	err := row.Scan((*[16]byte)(&k.Firm), &digest, &k.Type, &k.Bytes, &k.Media, &k.State, &k.At, &k.Reason)
	if err != nil {
		return events.Kept{}, err
	}
	if copy(k.SHA256[:], digest) != len(k.SHA256) {
		return events.Kept{}, fmt.Errorf("a digest of %d bytes", len(digest))
	}
	k.At = k.At.UTC()
	return k, nil
}

// Record implements events.Ledger.
func (l *Ledger) Record(ctx context.Context, k events.Kept) error {
	err := l.db.Write(ctx, k.Firm, func(b *pgx.Batch) {
		if !k.State.Safe() {
			b.Queue(withoutWaiting)
		}
		b.Queue(recordFile, [16]byte(k.Firm), k.SHA256[:], k.Type, k.Bytes, k.Media, k.State, k.At, k.Reason)
	})
	if err != nil {
		return fmt.Errorf("record file: %w", err)
	}
	return nil
}

// Change implements events.Ledger.
func (l *Ledger) Change(ctx context.Context, was, now events.Kept) error {
	err := l.db.Write(ctx, was.Firm, func(b *pgx.Batch) {
		b.Queue(changeFile, [16]byte(was.Firm), was.SHA256[:], was.State, was.At,
			now.Type, now.Bytes, now.Media, now.State, now.At, now.Reason,
		).QueryRow(func(row pgx.Row) error { var changed bool; return row.Scan(&changed) })
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return fmt.Errorf("change file: %w", events.ErrConflict)
	}
	if err != nil {
		return fmt.Errorf("change file: %w", err)
	}
	return nil
}

// Find implements events.Ledger.
func (l *Ledger) Find(ctx context.Context, firm events.ID, file events.Digest) (events.Kept, error) {
	found, err := l.list(ctx, firm, selectFile, [16]byte(firm), file[:])
	if err != nil {
		return events.Kept{}, fmt.Errorf("find file: %w", err)
	}
	if len(found) == 0 {
		return events.Kept{}, fmt.Errorf("find file: %w", events.ErrNotFound)
	}
	return found[0], nil
}

// FindAll implements events.Ledger.
func (l *Ledger) FindAll(ctx context.Context, firm events.ID, files []events.Digest) ([]events.Kept, error) {
	if len(files) == 0 {
		return nil, nil
	}
	digests := make([][]byte, len(files))
	for i := range files {
		digests[i] = files[i][:]
	}
	found, err := l.list(ctx, firm, selectFiles, [16]byte(firm), digests)
	if err != nil {
		return nil, fmt.Errorf("find files: %w", err)
	}
	return found, nil
}

// Oldest implements events.Ledger.
func (l *Ledger) Oldest(ctx context.Context, q events.KeptQuery) ([]events.Kept, error) {
	found, err := l.list(ctx, q.Firm, selectOldestFiles, [16]byte(q.Firm), q.State, q.Before, q.Limit)
	if err != nil {
		return nil, fmt.Errorf("list files: %w", err)
	}
	return found, nil
}

func (l *Ledger) list(ctx context.Context, firm events.ID, sql string, args ...any) (found []events.Kept, err error) {
	err = l.db.Read(ctx, firm, func(b *pgx.Batch) {
		b.Queue(sql, args...).Query(func(rows pgx.Rows) (err error) {
			found, err = pgx.CollectRows(rows, scanKept)
			return err
		})
	})
	return found, err
}
