package pgdb_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb/pgtest"
)

// However the work of one firm ends, and even if it sets the firm for the whole
// session, which nothing of ours does, the next on the same connection sees its own
// firm alone, and who comes for no firm sees none.
func TestPoisonedConnection(t *testing.T) {
	t.Parallel()
	db := one(t, pgtest.New(t))
	a, b := eventstest.NewFirm(t), eventstest.NewFirm(t)
	for _, firm := range []events.ID{a, b} {
		if err := addFirm(t.Context(), db, firm, firm); err != nil {
			t.Fatal(err)
		}
	}
	for name, poison := range map[string]func(ctx context.Context, tx pgx.Tx) error{
		"Error":   func(context.Context, pgx.Tx) error { return errors.New("mine") },
		"Panic":   func(context.Context, pgx.Tx) error { panic("a bug") },
		"Aborted": func(ctx context.Context, tx pgx.Tx) error { return exec(ctx, tx, `SELECT 1/0`) },
		"GoesOn":  func(ctx context.Context, tx pgx.Tx) error { exec(ctx, tx, `SELECT 1/0`); return nil },
		"TimedOut": func(ctx context.Context, tx pgx.Tx) error {
			return exec(ctx, tx, `SET LOCAL statement_timeout = 1; SELECT pg_sleep(1)`)
		},
		"Cancelled": func(ctx context.Context, tx pgx.Tx) error { return cancelled(ctx, tx) },
		"Session": func(ctx context.Context, tx pgx.Tx) error {
			return exec(ctx, tx, `SELECT set_config('app.firm', '`+a.String()+`', false)`)
		},
		"OwnCommit": func(ctx context.Context, tx pgx.Tx) error { return tx.Commit(ctx) },
		"Rollback":  func(ctx context.Context, tx pgx.Tx) error { return tx.Rollback(ctx) },
	} {
		t.Run(name, func(t *testing.T) {
			func() {
				defer func() { _ = recover() }()
				_ = db.WithFirm(t.Context(), a, func(tx pgx.Tx) error { return poison(t.Context(), tx) })
			}()
			for way, by := range map[string]way{"Read": db.Read, "Write": db.Write} {
				if got := firmsSeen(t, by, b); len(got) != 1 || got[0] != b.String() {
					t.Errorf("%s of the next firm sees %q, want itself", way, got)
				}
			}
			none := func(ctx context.Context, _ events.ID, queue func(*pgx.Batch)) error { return db.BeforeFirm(ctx, queue) }
			if got := firmsSeen(t, none, b); len(got) != 0 {
				t.Errorf("who comes for no firm sees %q", got)
			}
		})
	}
}

func exec(ctx context.Context, tx pgx.Tx, sql string) error {
	_, err := tx.Conn().PgConn().Exec(ctx, sql).ReadAll()
	return err
}

func cancelled(ctx context.Context, tx pgx.Tx) error {
	ctx, cancel := context.WithTimeout(ctx, 20*time.Millisecond)
	defer cancel()
	_, err := tx.Exec(ctx, `SELECT pg_sleep(5)`)
	return err
}

// firmsSeen lists the firms that somebody sees.
func firmsSeen(t *testing.T, by way, firm events.ID) (seen []string) {
	t.Helper()
	err := by(t.Context(), firm, func(q *pgx.Batch) {
		q.Queue(`SELECT firm::text FROM firm`).Query(func(rows pgx.Rows) (err error) {
			seen, err = pgx.CollectRows(rows, pgx.RowTo[string])
			return err
		})
	})
	if err != nil {
		t.Fatal(err)
	}
	return seen
}
