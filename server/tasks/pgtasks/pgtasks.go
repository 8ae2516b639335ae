// Package pgtasks keeps tasks in Postgres.
package pgtasks

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"relevel/events"
	"relevel/events/pgdb"
	"relevel/jobs"
	"relevel/server/tasks"
)

// Queue is a tasks.Queue. What is of one firm goes through the pool of the role that
// the server works as; what looks over all firms goes through that of the worker,
// which sees tasks and heads and nothing else.
type Queue struct {
	app, worker *pgdb.DB
	random      io.Reader
	now         func() time.Time
}

// New returns a queue over two pools, which stay the caller's. Ids of tasks are made
// of the clock and the randomness.
func New(app, worker *pgdb.DB, now func() time.Time, random io.Reader) *Queue {
	return &Queue{app: app, worker: worker, now: now, random: random}
}

const (
	// A task that is being done gets another due time, by which Finish sees that
	// it was added again: none behind the lease, or one whose claimer is gone would
	// wait for it. One that waits after a failure keeps its own.
	upsertTask = `
		INSERT INTO task AS kept (firm, id, kind, ref, due_at)
		VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (firm, kind, ref) DO UPDATE
		SET due_at = CASE
			WHEN kept.lease_until IS NOT NULL
				THEN least(greatest(excluded.due_at, kept.due_at + interval '1 microsecond'), kept.lease_until)
			WHEN kept.attempts = 0 THEN least(kept.due_at, excluded.due_at)
			ELSE kept.due_at END
		WHERE NOT kept.dead`
	// What is due is looked for once: where a planner does it for each row of the table,
	// each time skips what was locked before, and all that is due is claimed.
	claimTasks = `
		WITH due AS MATERIALIZED (
			SELECT firm, id FROM task
			WHERE NOT dead AND due_at <= $1 AND (lease_until IS NULL OR lease_until < $1 OR lease_until - $2 > $2 - $1)
				AND kind = ANY ($3) AND NOT firm = ANY ($4)
			ORDER BY due_at
			LIMIT $5
			FOR UPDATE SKIP LOCKED)
		UPDATE task
		SET lease_until = $2, attempts = attempts + 1
		FROM due
		WHERE task.firm = due.firm AND task.id = due.id
		RETURNING task.firm, task.id, task.kind, task.ref, task.due_at, task.attempts, task.lease_until, task.last_error`
	extendTask = `
		UPDATE task SET lease_until = $4
		WHERE firm = $1 AND id = $2 AND lease_until = $3 AND NOT dead`
	finishTask = `
		DELETE FROM task
		WHERE firm = $1 AND id = $2 AND lease_until = $3 AND NOT dead AND due_at = $4`
	freeTask = `
		UPDATE task SET lease_until = NULL, attempts = 0, last_error = ''
		WHERE firm = $1 AND id = $2 AND lease_until = $3 AND NOT dead`
	retryTask = `
		UPDATE task SET lease_until = NULL, due_at = $4, last_error = $5, attempts = attempts - $6
		WHERE firm = $1 AND id = $2 AND lease_until = $3 AND NOT dead`
	buryTask = `
		UPDATE task SET lease_until = NULL, dead = true, last_error = $4
		WHERE firm = $1 AND id = $2 AND lease_until = $3 AND NOT dead`
	selectDead = `
		SELECT firm, id, kind, ref, due_at, attempts, lease_until, last_error
		FROM task
		WHERE firm = $1 AND dead
		ORDER BY kind, ref`
	dropTasks = `
		DELETE FROM task
		WHERE firm = $1 AND kind = $2 AND starts_with(ref, $3)`
	selectHeads = `
		SELECT firm, job, seq
		FROM head
		WHERE seq > 0`
)

// maxReason bounds what is kept of how an attempt ended.
const maxReason = 500

func scanTask(row pgx.CollectableRow) (t tasks.Task, err error) {
	var lease *time.Time
	err = row.Scan((*[16]byte)(&t.Firm), (*[16]byte)(&t.ID), &t.Kind, &t.Ref, &t.Due, &t.Attempts, &lease, &t.Failed)
	t.Due = t.Due.UTC()
	if lease != nil {
		t.Lease = lease.UTC()
	}
	return t, err
}

// Add implements tasks.Queue.
func (q *Queue) Add(ctx context.Context, firm events.ID, due ...tasks.Task) error {
	ids := make([]events.ID, len(due))
	for i := range due {
		id, err := events.NewID(q.now(), q.random)
		if err != nil {
			return err
		}
		ids[i] = id
	}
	err := q.app.Write(ctx, firm, func(b *pgx.Batch) {
		for i, t := range due {
			b.Queue(upsertTask, [16]byte(firm), [16]byte(ids[i]), t.Kind, t.Ref, t.Due)
		}
	})
	if err != nil {
		return fmt.Errorf("add tasks: %w", err)
	}
	return nil
}

// answerWithin is how long a statement may take, a little longer than the database lets
// it: a connection that died without a word would else hold up all work until the
// kernel notices.
var answerWithin = 15 * time.Second

func (q *Queue) overFirms(ctx context.Context, queue func(b *pgx.Batch)) error {
	ctx, done := context.WithTimeout(ctx, answerWithin)
	defer done()
	return q.worker.OverFirms(ctx, queue)
}

// Claim implements tasks.Queue.
func (q *Queue) Claim(ctx context.Context, c tasks.Claim) ([]tasks.Task, error) {
	except := make([][16]byte, len(c.Except))
	for i, firm := range c.Except {
		except[i] = firm
	}
	var claimed []tasks.Task
	err := q.overFirms(ctx, func(b *pgx.Batch) {
		b.Queue(claimTasks, c.Now, c.Until.Truncate(time.Microsecond), c.Kinds, except, c.Limit).Query(func(rows pgx.Rows) (err error) {
			claimed, err = pgx.CollectRows(rows, scanTask)
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("claim tasks: %w", err)
	}
	return claimed, nil
}

// change runs a statement on a task that is still the claimer's.
func (q *Queue) change(ctx context.Context, what, sql string, t tasks.Task, args ...any) error {
	found, err := q.turn(ctx, sql, t, args...)
	if err == nil && !found {
		err = events.ErrNotFound
	}
	if err != nil {
		return fmt.Errorf("%s a task: %w", what, err)
	}
	return nil
}

// turn runs a statement on a task and reports whether it is still the claimer's.
func (q *Queue) turn(ctx context.Context, sql string, t tasks.Task, args ...any) (found bool, err error) {
	args = append([]any{[16]byte(t.Firm), [16]byte(t.ID), t.Lease}, args...)
	err = q.overFirms(ctx, func(b *pgx.Batch) {
		b.Queue(sql, args...).Exec(func(tag pgconn.CommandTag) error {
			found = tag.RowsAffected() > 0
			return nil
		})
	})
	return found, err
}

// Extend implements tasks.Queue.
func (q *Queue) Extend(ctx context.Context, t tasks.Task, until time.Time) (tasks.Task, error) {
	until = until.Truncate(time.Microsecond)
	if err := q.change(ctx, "extend", extendTask, t, until); err != nil {
		return tasks.Task{}, err
	}
	t.Lease = until
	return t, nil
}

// Finish implements tasks.Queue.
func (q *Queue) Finish(ctx context.Context, t tasks.Task) error {
	done, err := q.turn(ctx, finishTask, t, t.Due)
	if err != nil {
		return fmt.Errorf("finish a task: %w", err)
	}
	if done {
		return nil
	}
	return q.change(ctx, "free", freeTask, t)
}

// Retry implements tasks.Queue.
func (q *Queue) Retry(ctx context.Context, t tasks.Task, r tasks.Retry) error {
	free := 0
	if r.Free {
		free = 1
	}
	return q.change(ctx, "retry", retryTask, t, r.Due, short(r.Reason), free)
}

// Bury implements tasks.Queue.
func (q *Queue) Bury(ctx context.Context, t tasks.Task, reason string) error {
	return q.change(ctx, "bury", buryTask, t, short(reason))
}

// short is as much of a reason as a row keeps, in letters that it takes.
func short(reason string) string {
	return strings.ReplaceAll(strings.ToValidUTF8(reason[:min(len(reason), maxReason)], ""), "\x00", "")
}

// Dead implements tasks.Queue.
func (q *Queue) Dead(ctx context.Context, firm events.ID) (dead []tasks.Task, err error) {
	err = q.app.Read(ctx, firm, func(b *pgx.Batch) {
		b.Queue(selectDead, [16]byte(firm)).Query(func(rows pgx.Rows) (err error) {
			dead, err = pgx.CollectRows(rows, scanTask)
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("list dead tasks: %w", err)
	}
	return dead, nil
}

// Drop implements tasks.Queue.
func (q *Queue) Drop(ctx context.Context, firm events.ID, kind, prefix string) error {
	err := q.app.Write(ctx, firm, func(b *pgx.Batch) { b.Queue(dropTasks, [16]byte(firm), kind, prefix) })
	if err != nil {
		return fmt.Errorf("drop tasks: %w", err)
	}
	return nil
}

// Heads says how far the log of every job of every firm goes.
func (q *Queue) Heads(ctx context.Context) (heads []jobs.Reached, err error) {
	err = q.overFirms(ctx, func(b *pgx.Batch) {
		b.Queue(selectHeads).Query(func(rows pgx.Rows) (err error) {
			heads, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (h jobs.Reached, err error) {
				err = row.Scan((*[16]byte)(&h.Firm), (*[16]byte)(&h.Job), &h.Seq)
				return h, err
			})
			return err
		})
	})
	if err != nil {
		return nil, fmt.Errorf("list heads: %w", err)
	}
	return heads, nil
}
