package pglog

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
)

// Restore implements events.Restorer.
func (l *Log) Restore(ctx context.Context, firm, job events.ID, records []events.Stored) (events.Head, error) {
	if len(records) == 0 {
		return l.Head(ctx, firm, job)
	}
	known, err := l.Leaves(ctx, firm, job, records[0].Seq-1, len(records))
	if err != nil {
		return events.Head{}, fmt.Errorf("restore records: %w", err)
	}
	var head events.Head
	err = l.db.WithFirm(ctx, firm, func(tx pgx.Tx) error {
		b := events.Batch{Firm: firm, Job: job}
		was, err := lockHead(ctx, tx, b)
		if err != nil {
			return err
		}
		a, err := events.Continue(was, firm, job, known, records)
		if err != nil {
			return err
		}
		head = a.Receipt.Head
		return putBack(ctx, tx, b, a)
	})
	if err != nil {
		return events.Head{}, fmt.Errorf("restore records: %w", err)
	}
	return head, nil
}

// putBack writes records under their own numbers. The body for queries by hand stays
// out where jsonb would refuse it.
func putBack(ctx context.Context, tx pgx.Tx, b events.Batch, a events.Arranged) error {
	var batch pgx.Batch
	firm, job := [16]byte(b.Firm), [16]byte(b.Job)
	for _, r := range a.New {
		batch.Queue(`
			INSERT INTO event (firm, job, seq, id, kind, v, recorded_at, leaf) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
			firm, job, r.Seq, [16]byte(r.ID), string(r.Kind), r.V, r.RecordedAt.UTC().Truncate(time.Millisecond), r.Leaf[:])
		if !r.Erased {
			batch.Queue(`
				INSERT INTO event_bytes (firm, job, seq, salt, bytes, body) VALUES ($1, $2, $3, $4, $5, $6::text::jsonb)`,
				firm, job, r.Seq, r.Salt, r.Raw, queryable(r.Body))
		}
	}
	if batch.Len() == 0 {
		return nil
	}
	head := a.Receipt.Head
	batch.Queue(`UPDATE head SET seq = $3, root = $4, frontier = $5 WHERE firm = $1 AND job = $2`,
		firm, job, head.Seq, head.Root[:], joinHashes(head.Frontier))
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return fmt.Errorf("put the records back: %w", err)
	}
	return nil
}
