package pglog

import (
	"context"
	"fmt"
	"math"

	"github.com/jackc/pgx/v5"

	"relevel/events"
)

// Read implements events.Log.
func (l *Log) Read(ctx context.Context, firm, job events.ID, after int64, limit int) ([]events.Stored, error) {
	var page []events.Stored
	limit = max(limit, 0)
	last := max(after, 0) + min(int64(limit), math.MaxInt64-max(after, 0)) // numbers have no gaps
	err := l.db.Read(ctx, firm, func(b *pgx.Batch) {
		b.Queue(selectHead, [16]byte(firm), [16]byte(job)).QueryRow(func(row pgx.Row) error {
			_, err := scanHead(row)
			return err
		})
		// The bytes of each event are looked up by its number. As a plain join, tables
		// that were filled a moment ago, of which the planner knows nothing yet, were
		// compared row by row: 10 s for one page of a job of 20 000 events.
		b.Queue(`
			SELECT e.id, e.seq, e.kind, e.v, e.recorded_at, e.leaf, x.salt, x.bytes
			FROM event e LEFT JOIN LATERAL (
				SELECT b.salt, b.bytes FROM event_bytes b WHERE b.firm = e.firm AND b.job = e.job AND b.seq = e.seq OFFSET 0
			) x ON true
			WHERE e.firm = $1 AND e.job = $2 AND e.seq > $3 AND e.seq <= $4
			ORDER BY e.seq`,
			[16]byte(firm), [16]byte(job), after, last).Query(func(rows pgx.Rows) (err error) {
			page, err = scanStored(rows, job)
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("read the job's log: %w", err)
	}
	return page, nil
}

// Leaves implements events.Log.
func (l *Log) Leaves(ctx context.Context, firm, job events.ID, after int64, limit int) ([]events.Hash, error) {
	var page []events.Hash
	limit = max(limit, 0)
	last := max(after, 0) + min(int64(limit), math.MaxInt64-max(after, 0))
	err := l.db.Read(ctx, firm, func(b *pgx.Batch) {
		b.Queue(selectHead, [16]byte(firm), [16]byte(job)).QueryRow(func(row pgx.Row) error {
			_, err := scanHead(row)
			return err
		})
		b.Queue(`
			SELECT leaf FROM event
			WHERE firm = $1 AND job = $2 AND seq > $3 AND seq <= $4
			ORDER BY seq`,
			[16]byte(firm), [16]byte(job), after, last).Query(func(rows pgx.Rows) (err error) {
			page, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (events.Hash, error) {
				var leaf []byte
				if err := row.Scan(&leaf); err != nil {
					return events.Hash{}, err
				}
				return events.Hash(leaf), nil // the table holds its length
			})
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("read the job's leaves: %w", err)
	}
	return page, nil
}

func scanStored(rows pgx.Rows, job events.ID) ([]events.Stored, error) {
	var list []events.Stored
	for rows.Next() {
		var id events.ID
		var v int
		var known events.Known
		var leaf, raw []byte
		err := rows.Scan((*[16]byte)(&id), &known.Seq, (*string)(&known.Kind), &v, &known.RecordedAt, &leaf, &known.Salt, &raw)
		if err != nil {
			return nil, err
		}
		known.Leaf = events.Hash(leaf)
		list = append(list, events.Restore(job, id, v, known, raw))
	}
	return list, rows.Err()
}
