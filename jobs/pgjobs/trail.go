package pgjobs

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/jobs"
)

const (
	insertTrace = `
		INSERT INTO trail (firm, id, at, what, by, token, about, job, detail, address)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)
		ON CONFLICT (firm, id) DO NOTHING`
	selectTraces = `
		SELECT id, at, what, by, token, about, job, detail, address
		FROM trail
		WHERE firm = $1
			AND ($2 = '' OR what = $2)
			AND ($3::uuid IS NULL OR by = $3 OR about = $3)
			AND ($4::uuid IS NULL OR job = $4)
			AND ($5::timestamptz IS NULL OR at >= $5)
			AND ($6::timestamptz IS NULL OR at < $6)
			AND ($7::timestamptz IS NULL OR (at, id) < ($7, $8))
		ORDER BY at DESC, id DESC
		LIMIT $9`
)

func scanTrace(row pgx.Row) (t jobs.Trace, err error) {
	var by, token, about, job *[16]byte
	err = row.Scan(idInto(&t.ID), &t.At, &t.What, &by, &token, &about, &job, &t.Detail, &t.Address)
	t.At = t.At.UTC()
	t.By, t.Token, t.About, t.Job = orZero(by), orZero(token), orZero(about), orZero(job)
	return t, err
}

// AppendTraces implements jobs.Trails.
func (s *Store) AppendTraces(ctx context.Context, firm events.ID, all []jobs.Trace) error {
	if firm.IsZero() {
		return fmt.Errorf("append traces: %w", events.ErrNotFound)
	}
	err := s.db.Write(ctx, firm, func(b *pgx.Batch) {
		for _, t := range all {
			b.Queue(insertTrace, uuid(firm), uuid(t.ID), t.At, string(t.What), orNull(t.By), orNull(t.Token), orNull(t.About), orNull(t.Job), t.Detail, t.Address)
		}
	})
	if err != nil {
		return fmt.Errorf("append traces: %w", err)
	}
	return nil
}

// ListTraces implements jobs.Trails.
func (s *Store) ListTraces(ctx context.Context, firm events.ID, f jobs.TraceFilter) ([]jobs.Trace, error) {
	find := with(selectTraces, uuid(firm), string(f.What), orNull(f.Who), orNull(f.Job), orNullTime(f.Since), orNullTime(f.Until),
		orNullTime(f.After.At), uuid(f.After.ID), f.Limit)
	traces, err := listOf(ctx, s, firm, find, scanTrace)
	if err != nil {
		return nil, fmt.Errorf("list traces: %w", err)
	}
	return traces, nil
}
