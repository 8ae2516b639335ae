package pglog

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/pgdb"
)

// Quarantine implements events.Log.
func (l *Log) Quarantine(ctx context.Context, q events.Quarantined) error {
	err := l.db.Write(ctx, q.Firm, func(b *pgx.Batch) {
		queueQuarantine(b, q)
		pgdb.Repeatable(b)
	})
	if err != nil {
		return fmt.Errorf("quarantine an event: %w", err)
	}
	return nil
}

func queueQuarantine(b *pgx.Batch, q events.Quarantined) {
	reason, key := events.PlainText(q.Reason), q.Key()
	b.Queue(`
		INSERT INTO quarantine (firm, digest, job, event_id, device, device_seq, at, reason, bytes)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
		ON CONFLICT ON CONSTRAINT quarantine_pkey DO NOTHING`,
		[16]byte(q.Firm), key[:], [16]byte(q.Job), orNull(q.EventID), orNull(q.Device),
		q.DeviceSeq, q.At.UTC().Truncate(time.Millisecond), reason, q.Raw)
}

// Quarantined implements events.Log.
func (l *Log) Quarantined(ctx context.Context, firm events.ID, limit int) ([]events.Quarantined, error) {
	var list []events.Quarantined
	err := l.db.Read(ctx, firm, func(b *pgx.Batch) {
		b.Queue(`
			SELECT job, event_id, device, device_seq, at, reason, bytes
			FROM quarantine WHERE firm = $1
			ORDER BY at DESC, digest LIMIT $2`,
			[16]byte(firm), max(limit, 0)).Query(func(rows pgx.Rows) (err error) {
			list, err = scanQuarantined(rows, firm)
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("list the quarantine: %w", err)
	}
	return list, nil
}

func scanQuarantined(rows pgx.Rows, firm events.ID) ([]events.Quarantined, error) {
	var list []events.Quarantined
	for rows.Next() {
		q := events.Quarantined{Firm: firm}
		var id, device *[16]byte
		err := rows.Scan((*[16]byte)(&q.Job), &id, &device, &q.DeviceSeq, &q.At, &q.Reason, &q.Raw)
		if err != nil {
			return nil, err
		}
		q.EventID, q.Device, q.At = orZero(id), orZero(device), q.At.UTC()
		list = append(list, q)
	}
	return list, rows.Err()
}

func orNull(id events.ID) *[16]byte {
	if id.IsZero() {
		return nil
	}
	return (*[16]byte)(&id)
}

func orZero(id *[16]byte) events.ID {
	if id == nil {
		return events.ID{}
	}
	return *id
}
