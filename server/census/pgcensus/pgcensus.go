// Package pgcensus counts over all firms in Postgres, as the role that sees numbers,
// states and times alone.
package pgcensus

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb"
	"relevel/server/census"
)

// Each count stops at a bound, so that what one costs is bounded too, and is answered
// from an index, or from tables that are no longer than firms have phones.
const (
	countPhotos = `
		SELECT count(*) FILTER (WHERE state = 'received'), min(at) FILTER (WHERE state = 'received'),
			count(*) FILTER (WHERE state = 'stored'), min(at) FILTER (WHERE state = 'stored'),
			count(*) FILTER (WHERE damaged)
		FROM (SELECT state, at, damaged FROM photo WHERE state <> 'durable' LIMIT $1) AS waiting`
	countTasks = `
		SELECT kind,
			count(*) FILTER (WHERE due AND NOT running),
			count(*) FILTER (WHERE NOT dead AND NOT due AND NOT running AND attempts = 0),
			count(*) FILTER (WHERE running),
			count(*) FILTER (WHERE NOT dead AND NOT due AND NOT running AND attempts > 0),
			count(*) FILTER (WHERE dead),
			min(due_at) FILTER (WHERE due AND NOT running)
		FROM (
			SELECT kind, due_at, attempts, dead, NOT dead AND due_at <= now() AS due,
				NOT dead AND lease_until IS NOT NULL AND lease_until >= now() AS running
			FROM task LIMIT $1) AS all_of_them
		GROUP BY kind
		ORDER BY kind`
	countPhones = `
		SELECT count(oldest_unsent_at), min(oldest_unsent_at), count(*) FILTER (WHERE lost > 0), coalesce(sum(lost), 0)::bigint
		FROM (SELECT lost, oldest_unsent_at FROM phone WHERE lost > 0 OR oldest_unsent_at IS NOT NULL LIMIT $1) AS noted`
	countDoubts = `
		SELECT coalesce(sum(doubts), 0)::bigint
		FROM (SELECT doubts FROM job_summary WHERE doubts > 0 LIMIT $1) AS doubtful`
	countApart  = `SELECT count(*) FROM (SELECT at FROM quarantine LIMIT $1) AS apart`
	countFaults = `SELECT count(*) FROM (SELECT found_at FROM checkpoint_fault LIMIT $1) AS found`
)

// Count counts everything in one round trip. The pool is one of the role pgdb.Worker.
func Count(ctx context.Context, worker *pgdb.DB) (c census.Census, err error) {
	if err := worker.OverFirms(ctx, func(b *pgx.Batch) { queueCounts(b, &c) }); err != nil {
		return census.Census{}, fmt.Errorf("count over all firms: %w", err)
	}
	return c, nil
}

func queueCounts(b *pgx.Batch, c *census.Census) {
	b.Queue(countPhotos, census.Most).QueryRow(func(row pgx.Row) error {
		var received, stored *time.Time
		err := row.Scan(&c.Received.Count, &received, &c.Stored.Count, &stored, &c.Damaged)
		c.Received.Oldest, c.Stored.Oldest = timeOf(received), timeOf(stored)
		return err
	})
	b.Queue(countTasks, census.Most).Query(func(rows pgx.Rows) (err error) {
		c.Tasks, err = pgx.CollectRows(rows, scanTasks)
		return err
	})
	b.Queue(countPhones, census.Most).QueryRow(func(row pgx.Row) error {
		var oldest *time.Time
		err := row.Scan(&c.Unsent.Count, &oldest, &c.Gaps, &c.Missing)
		c.Unsent.Oldest = timeOf(oldest)
		return err
	})
	b.Queue(countDoubts, census.Most).QueryRow(func(row pgx.Row) error { return row.Scan(&c.Doubts) })
	b.Queue(countApart, census.Most).QueryRow(func(row pgx.Row) error { return row.Scan(&c.Apart) })
	b.Queue(countFaults, census.Most).QueryRow(func(row pgx.Row) error { return row.Scan(&c.Disagreed) })
}

func scanTasks(row pgx.CollectableRow) (t census.Tasks, err error) {
	var oldest *time.Time
	err = row.Scan(&t.Kind, &t.Due, &t.Later, &t.Running, &t.Failing, &t.Dead, &oldest)
	t.OldestDue = timeOf(oldest)
	return t, err
}

// timeOf is a time that may be NULL, which is no time.
func timeOf(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return t.UTC()
}
