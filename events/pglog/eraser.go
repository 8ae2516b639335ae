package pglog

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"relevel/events"
	"relevel/events/pgdb"
)

// Eraser is an events.Eraser on a pool under the role pgdb.Eraser: the only one that
// the database lets remove what was recorded.
type Eraser struct {
	db *pgdb.DB
}

// NewEraser makes one. The pool stays the caller's to close.
func NewEraser(db *pgdb.DB) *Eraser { return &Eraser{db: db} }

// EraseRecords implements events.Eraser.
func (e *Eraser) EraseRecords(ctx context.Context, firm, job events.ID, numbers []int64) (int, error) {
	n, err := e.erase(ctx, firm, []any{[16]byte(firm), [16]byte(job), numbers},
		`DELETE FROM book_word WHERE firm = $1 AND job = $2 AND seq = ANY ($3)`,
		`DELETE FROM book_text WHERE firm = $1 AND job = $2 AND seq = ANY ($3)`,
		`DELETE FROM event_bytes WHERE firm = $1 AND job = $2 AND seq = ANY ($3)`)
	if err != nil {
		return 0, fmt.Errorf("erase records: %w", err)
	}
	return n, nil
}

// EraseApart implements events.Eraser.
func (e *Eraser) EraseApart(ctx context.Context, firm events.ID, keys []events.Digest) (int, error) {
	n, err := e.erase(ctx, firm, []any{[16]byte(firm), digests(keys)},
		`DELETE FROM quarantine_decision WHERE firm = $1 AND digest = ANY ($2)`,
		`DELETE FROM quarantine WHERE firm = $1 AND digest = ANY ($2)`)
	if err != nil {
		return 0, fmt.Errorf("erase from the quarantine: %w", err)
	}
	return n, nil
}

// EraseKept implements events.Eraser.
func (e *Eraser) EraseKept(ctx context.Context, firm events.ID, files []events.Digest) (int, error) {
	n, err := e.erase(ctx, firm, []any{[16]byte(firm), digests(files)}, `DELETE FROM photo WHERE firm = $1 AND sha256 = ANY ($2)`)
	if err != nil {
		return 0, fmt.Errorf("erase files from the ledger: %w", err)
	}
	return n, nil
}

// erase runs statements in one transaction, and counts the rows that the last one
// removed.
func (e *Eraser) erase(ctx context.Context, firm events.ID, args []any, statements ...string) (n int, err error) {
	err = e.db.Write(ctx, firm, func(b *pgx.Batch) {
		for _, sql := range statements {
			b.Queue(sql, args...).Exec(func(tag pgconn.CommandTag) error {
				n = int(tag.RowsAffected())
				return nil
			})
		}
	})
	return n, err
}

func digests(list []events.Digest) [][]byte {
	out := make([][]byte, len(list))
	for i := range list {
		out[i] = list[i][:]
	}
	return out
}
