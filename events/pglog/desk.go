package pglog

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
)

const (
	// The last decision about each thing is found by its key, backwards.
	fromApart = `
		FROM quarantine q LEFT JOIN LATERAL (
			SELECT n, what, why, person, job, event, at FROM quarantine_decision
			WHERE firm = q.firm AND digest = q.digest ORDER BY n DESC LIMIT 1) d ON true
		WHERE q.firm = $1 AND coalesce(d.what, 'reopened') `
	selectApart = `
		SELECT q.job, q.event_id, q.device, q.device_seq, q.at, q.reason, q.bytes, q.digest,
			coalesce(d.n, 0), coalesce(d.what, ''), coalesce(d.why, ''), d.person, d.job, d.event, coalesce(d.at, '0001-01-01Z')`
	selectWaiting = selectApart + fromApart + `= 'reopened' ORDER BY q.at DESC, q.digest LIMIT $2`
	selectSettled = selectApart + fromApart + `<> 'reopened' ORDER BY q.at DESC, q.digest LIMIT $2`
	countWaiting  = `SELECT q.job, count(*)` + fromApart + `= 'reopened' GROUP BY q.job`
	selectOne     = `SELECT job, event_id, device, device_seq, at, reason, bytes FROM quarantine WHERE firm = $1 AND digest = $2`
	selectDecided = `
		SELECT n, what, why, person, job, event, at FROM quarantine_decision
		WHERE firm = $1 AND digest = $2 ORDER BY n`
	// Nothing is added about what is not kept, nor past a gap in the numbers.
	insertDecision = `
		INSERT INTO quarantine_decision (firm, digest, n, what, why, person, job, event, at)
		SELECT $1::uuid, $2::bytea, $3::integer, $4::text, $5::text, $6::uuid, $7::uuid, $8::uuid, $9::timestamptz
		WHERE EXISTS (SELECT FROM quarantine WHERE firm = $1 AND digest = $2)
		  AND $3 = 1 + (SELECT count(*) FROM quarantine_decision WHERE firm = $1 AND digest = $2)
		ON CONFLICT ON CONSTRAINT quarantine_decision_pkey DO NOTHING`
)

// Apart implements events.Desk.
func (l *Log) Apart(ctx context.Context, firm events.ID, settled bool, limit int) (list []events.Case, err error) {
	sql := selectWaiting
	if settled {
		sql = selectSettled
	}
	err = l.db.Read(ctx, firm, func(b *pgx.Batch) {
		b.Queue(sql, [16]byte(firm), max(limit, 0)).Query(func(rows pgx.Rows) (err error) {
			list, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (events.Case, error) { return scanCase(row, firm) })
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("list what is kept apart: %w", err)
	}
	return list, nil
}

func scanCase(row pgx.Row, firm events.ID) (events.Case, error) {
	c := events.Case{Quarantined: events.Quarantined{Firm: firm}}
	var id, device, person, job, event *[16]byte
	var key []byte
	err := row.Scan((*[16]byte)(&c.Job), &id, &device, &c.DeviceSeq, &c.At, &c.Reason, &c.Raw, &key,
		&c.Last.N, &c.Last.What, &c.Last.Why, &person, &job, &event, &c.Last.At)
	c.EventID, c.Device, c.At = orZero(id), orZero(device), c.At.UTC()
	if c.Last.N == 0 {
		c.Last = events.Decision{}
		return c, err
	}
	c.Last.Firm, c.Last.By, c.Last.Job, c.Last.Event, c.Last.At = firm, orZero(person), orZero(job), orZero(event), c.Last.At.UTC()
	copy(c.Last.Key[:], key)
	return c, err
}

// FindApart implements events.Desk.
func (l *Log) FindApart(ctx context.Context, firm events.ID, key events.Digest) (q events.Quarantined, all []events.Decision, err error) {
	var kept []events.Quarantined
	err = l.db.Read(ctx, firm, func(b *pgx.Batch) {
		b.Queue(selectOne, [16]byte(firm), key[:]).Query(func(rows pgx.Rows) (err error) {
			kept, err = scanQuarantined(rows, firm)
			return err
		})
		b.Queue(selectDecided, [16]byte(firm), key[:]).Query(func(rows pgx.Rows) (err error) {
			all, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (events.Decision, error) { return scanDecision(row, firm, key) })
			return err
		})
	})
	switch {
	case err != nil:
		return q, nil, fmt.Errorf("find in the quarantine: %w", err)
	case len(kept) == 0:
		return q, nil, fmt.Errorf("find in the quarantine: %w", events.ErrNotFound)
	}
	return kept[0], all, nil
}

func scanDecision(row pgx.Row, firm events.ID, key events.Digest) (events.Decision, error) {
	d := events.Decision{Firm: firm, Key: key}
	var person, job, event *[16]byte
	err := row.Scan(&d.N, &d.What, &d.Why, &person, &job, &event, &d.At)
	d.By, d.Job, d.Event, d.At = orZero(person), orZero(job), orZero(event), d.At.UTC()
	return d, err
}

// Decide implements events.Desk.
func (l *Log) Decide(ctx context.Context, d events.Decision) error {
	if err := d.Check(); err != nil {
		return err
	}
	err := l.db.Write(ctx, d.Firm, func(b *pgx.Batch) {
		b.Queue(insertDecision, [16]byte(d.Firm), d.Key[:], d.N, string(d.What), events.PlainText(d.Why),
			orNull(d.By), orNull(d.Job), orNull(d.Event), d.At.UTC().Truncate(time.Millisecond))
	})
	if err != nil {
		return fmt.Errorf("decide: %w", err)
	}
	// Whether that was added, or said before, or came too late is seen by
	// looking: the statement may also have been sent twice.
	_, all, err := l.FindApart(ctx, d.Firm, d.Key)
	switch {
	case errors.Is(err, events.ErrNotFound):
		return fmt.Errorf("decide: %w", err)
	case err != nil:
		return err
	}
	d.Why = events.PlainText(d.Why)
	if d.N < 1 || d.N > len(all) || !all[d.N-1].Same(d) {
		return fmt.Errorf("decide: %w", events.ErrConflict)
	}
	return nil
}

// Undecided implements events.Desk.
func (l *Log) Undecided(ctx context.Context, firm events.ID) (map[events.ID]int, error) {
	var open map[events.ID]int
	err := l.db.Read(ctx, firm, func(b *pgx.Batch) {
		open = map[events.ID]int{}
		b.Queue(countWaiting, [16]byte(firm)).Query(func(rows pgx.Rows) error {
			var job [16]byte
			var n int
			_, err := pgx.ForEachRow(rows, []any{&job, &n}, func() error { open[job] = n; return nil })
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("count what is kept apart: %w", err)
	}
	return open, nil
}
