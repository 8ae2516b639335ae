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
		// Each table is asked by itself. The plan of a join was made anew at each call,
		// which took longer than to run it; and of tables that were filled a moment ago
		// the planner knows so little that it compared them row by row: 10 s for one page
		// of a job of 20 000 events.
		b.Queue(`
			SELECT id, seq, kind, v, recorded_at, leaf
			FROM event
			WHERE firm = $1 AND job = $2 AND seq > $3 AND seq <= $4
			ORDER BY seq`,
			[16]byte(firm), [16]byte(job), after, last).Query(func(rows pgx.Rows) (err error) {
			page, err = scanStored(rows, job)
			return err
		})
		b.Queue(`
			SELECT seq, salt, bytes
			FROM event_bytes
			WHERE firm = $1 AND job = $2 AND seq > $3 AND seq <= $4
			ORDER BY seq`,
			[16]byte(firm), [16]byte(job), after, last).Query(func(rows pgx.Rows) error {
			return scanBytes(rows, page)
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

// scanStored reads events without their bytes: as they are once erased.
func scanStored(rows pgx.Rows, job events.ID) ([]events.Stored, error) {
	var page []events.Stored
	for rows.Next() {
		var id events.ID
		var v int
		var known events.Known
		var leaf []byte
		err := rows.Scan((*[16]byte)(&id), &known.Seq, (*string)(&known.Kind), &v, &known.RecordedAt, &leaf)
		if err != nil {
			return nil, err
		}
		known.Leaf = events.Hash(leaf)
		page = append(page, events.Restore(job, id, v, known, nil))
	}
	return page, rows.Err()
}

// scanBytes puts bytes and salts to their events. Those of an event that was appended
// while the page was read have none there, nor those of one that somebody removed by force.
func scanBytes(rows pgx.Rows, page []events.Stored) error {
	for rows.Next() {
		var seq int64
		var salt, raw []byte
		if err := rows.Scan(&seq, &salt, &raw); err != nil {
			return err
		}
		for len(page) > 0 && page[0].Seq < seq { // both are in order
			page = page[1:]
		}
		if len(page) > 0 && page[0].Seq == seq {
			e := page[0]
			known := events.Known{Seq: e.Seq, Kind: e.Kind, RecordedAt: e.RecordedAt, Leaf: e.Leaf, Salt: salt}
			page[0] = events.Restore(e.Job, e.ID, e.V, known, raw)
		}
	}
	return rows.Err()
}
