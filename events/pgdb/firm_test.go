package pgdb_test

import (
	"context"
	"errors"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
)

func addFirm(ctx context.Context, db *pgdb.DB, firm events.ID, as events.ID) error {
	return db.WithFirm(ctx, as, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `INSERT INTO firm (firm, name, created_at) VALUES ($1, 'A firm', now())`, firm.String())
		return err
	})
}

// One connection serves two firms in turn, by each of the ways there are, and
// after a failure. Nothing of the one before is left on it for the next, nor for
// somebody who sets no firm.
func TestFirmsOnOneConnection(t *testing.T) {
	t.Parallel()
	db := one(t, pgtest.New(t))
	a, b := eventstest.NewFirm(t), eventstest.NewFirm(t)
	for _, firm := range []events.ID{a, b} {
		if err := addFirm(t.Context(), db, firm, firm); err != nil {
			t.Fatal(err)
		}
		sawNothing(t, db, "after WithFirm")
	}
	for _, firm := range []events.ID{a, b} {
		if n := countFirms(t, db.Read, firm); n != 1 {
			t.Errorf("read: a firm sees %d firms", n)
		}
		sawNothing(t, db, "after Read")
		if n := countFirms(t, db.Write, firm); n != 1 {
			t.Errorf("write: a firm sees %d firms", n)
		}
		sawNothing(t, db, "after Write")
		if err := addFirm(t.Context(), db, firm, firm); !errors.Is(err, events.ErrConflict) {
			t.Errorf("a second row of one key: %v, want ErrConflict", err)
		}
		sawNothing(t, db, "after a failure")
	}
	if n := countFirms(t, db.Read, eventstest.NewFirm(t)); n != 0 {
		t.Errorf("a firm without a row sees %d", n)
	}
	if n := db.Pool().Stat().NewConnsCount(); n != 1 {
		t.Errorf("%d connections were made, want one", n)
	}
}

type way func(ctx context.Context, firm events.ID, queue func(b *pgx.Batch)) error

func countFirms(t *testing.T, by way, firm events.ID) (n int) {
	t.Helper()
	err := by(t.Context(), firm, func(q *pgx.Batch) {
		q.Queue(`SELECT count(*) FROM firm`).QueryRow(func(row pgx.Row) error { return row.Scan(&n) })
	})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// sawNothing asks on the connection itself, for no firm.
func sawNothing(t *testing.T, db *pgdb.DB, when string) {
	t.Helper()
	var n int
	var left *string
	if err := db.Pool().QueryRow(t.Context(), `SELECT count(*), nullif(current_setting('app.firm', true), '') FROM firm`).Scan(&n, &left); err != nil {
		t.Fatal(err)
	}
	if n != 0 || left != nil {
		t.Errorf("%s, without a firm, %d firms are seen and %v was left", when, n, left)
	}
}

// with adds a parameter to a DSN.
func with(dsn, parameter string) string {
	if strings.Contains(dsn, "?") {
		return dsn + "&" + parameter
	}
	return dsn + "?" + parameter
}

// one is a pool of a single connection.
func one(t *testing.T, d *pgtest.DB) *pgdb.DB {
	t.Helper()
	db, err := pgdb.Open(t.Context(), with(d.DSN(pgdb.App), "pool_max_conns=1"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(db.Close)
	return db
}

func TestRowsOfAnotherFirmAreRefused(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t).App
	a, b := eventstest.NewFirm(t), eventstest.NewFirm(t)
	if err := addFirm(t.Context(), db, b, a); pgdb.Code(err) != insufficientPrivilege {
		t.Errorf("a row of another firm was let in: %v", err)
	}
	if err := addFirm(t.Context(), db, a, a); err != nil {
		t.Fatal(err)
	}
	if err := send(t, db, a, `UPDATE firm SET firm = $1`, b.String()); pgdb.Code(err) != insufficientPrivilege {
		t.Errorf("a row was given to another firm: %v", err)
	}
	if err := send(t, db, b, `UPDATE firm SET name = 'taken' WHERE firm = $1`, a.String()); err != nil {
		t.Fatal(err)
	}
	if n := countFirms(t, db.Read, b); n != 0 {
		t.Errorf("another firm sees %d rows", n)
	}
	var name string
	err := db.Read(t.Context(), a, func(q *pgx.Batch) {
		q.Queue(`SELECT name FROM firm`).QueryRow(func(row pgx.Row) error { return row.Scan(&name) })
	})
	if err != nil || name != "A firm" {
		t.Errorf("the row is now %q, %v", name, err)
	}
}

func send(t *testing.T, db *pgdb.DB, firm events.ID, statement string, args ...any) error {
	t.Helper()
	return db.Write(t.Context(), firm, func(q *pgx.Batch) { q.Queue(statement, args...) })
}

func TestNoFirm(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t).App
	called := false
	err := db.WithFirm(t.Context(), events.ID{}, func(pgx.Tx) error { called = true; return nil })
	if err == nil || called {
		t.Errorf("a transaction for no firm began: %v", err)
	}
	for _, by := range []way{db.Read, db.Write} {
		if err := by(t.Context(), events.ID{}, func(*pgx.Batch) { called = true }); err == nil || called {
			t.Errorf("a statement for no firm was sent: %v", err)
		}
	}
}

// What fn returns ends the transaction; a context that ends before the commit
// stores nothing.
func TestWithFirm(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t).App
	firm := eventstest.NewFirm(t)
	mine := errors.New("mine")
	add := func(ctx context.Context, after func() error) error {
		return db.WithFirm(ctx, firm, func(tx pgx.Tx) error {
			_, err := tx.Exec(ctx, `INSERT INTO firm (firm, name, created_at) VALUES ($1, 'A firm', now())`, firm.String())
			return errors.Join(err, after())
		})
	}
	if err := add(t.Context(), func() error { return mine }); !errors.Is(err, mine) {
		t.Errorf("%v, want the error of fn", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	if err := add(ctx, func() error { cancel(); return nil }); !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("ended before the commit: %v, want ErrUnavailable", err)
	}
	if n := countFirms(t, db.Read, firm); n != 0 {
		t.Error("something was stored by the two")
	}
	func() {
		defer func() {
			if recover() == nil {
				t.Error("the panic of fn was swallowed")
			}
		}()
		add(t.Context(), func() error { panic("in fn") })
	}()
	if n := countFirms(t, db.Read, firm); n != 0 {
		t.Error("something was stored by fn that panicked")
	}
	if busy := db.Pool().Stat().AcquiredConns(); busy != 0 {
		t.Errorf("%d connections were not given back", busy)
	}
}

// leaveDuringCommit leaves once a commit of this database is seen to dawdle, by
// the lock it takes.
func leaveDuringCommit(ctx context.Context, watch *pgx.Conn, leave func()) {
	for ctx.Err() == nil {
		dawdles := false
		const look = `SELECT count(*) > 0 FROM pg_locks l JOIN pg_database d ON d.oid = l.database
			WHERE l.locktype = 'advisory' AND l.objid = 7 AND l.granted AND d.datname = current_database()`
		if err := watch.QueryRow(context.WithoutCancel(ctx), look).Scan(&dawdles); err == nil && dawdles {
			leave()
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// Once it is on its way a commit is not cancelled by a caller who leaves: here
// it takes a second, and the caller is gone as soon as it is seen under way.
func TestCommitIsNotCancelled(t *testing.T) {
	t.Parallel()
	d := pgtest.New(t)
	_, err := d.Connect(pgdb.Owner).Exec(t.Context(), `
		CREATE FUNCTION dawdle() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN PERFORM pg_advisory_xact_lock(7), pg_sleep(1); RETURN NULL; END $$;
		CREATE CONSTRAINT TRIGGER dawdle AFTER INSERT ON firm DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION dawdle();`)
	if err != nil {
		t.Fatal(err)
	}
	const insert = `INSERT INTO firm (firm, name, created_at) VALUES ($1, 'A firm', now())`
	for name, store := range map[string]func(ctx context.Context, firm events.ID) error{
		"WithFirm": func(ctx context.Context, firm events.ID) error { return addFirm(ctx, d.App, firm, firm) },
		"Write": func(ctx context.Context, firm events.ID) error {
			return d.App.Write(ctx, firm, func(q *pgx.Batch) { q.Queue(insert, firm.String()) })
		},
	} {
		t.Run(name, func(t *testing.T) {
			firm := eventstest.NewFirm(t)
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			watch := d.Connect(pgdb.Owner)
			var watching sync.WaitGroup
			watching.Go(func() { leaveDuringCommit(ctx, watch, cancel) })
			if err := store(ctx, firm); err != nil {
				t.Errorf("%v, want it stored", err)
			}
			if ctx.Err() == nil {
				t.Error("the commit was over before the caller left: this shows nothing")
			}
			if n := countFirms(t, d.App.Read, firm); n != 1 {
				t.Errorf("%d rows are stored", n)
			}
			cancel()
			watching.Wait()
		})
	}
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	firm := eventstest.NewFirm(t)
	err = d.App.Write(ended, firm, func(q *pgx.Batch) { q.Queue(insert, firm.String()) })
	if n := countFirms(t, d.App.Read, firm); !errors.Is(err, events.ErrUnavailable) || n != 0 {
		t.Errorf("a caller gone before the write: %v and %d rows, want ErrUnavailable and none", err, n)
	}
}

// The statements of one Write happen together or not at all.
func TestWriteIsOneTransaction(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t).App
	firm := eventstest.NewFirm(t)
	err := db.Write(t.Context(), firm, func(q *pgx.Batch) {
		for range 2 {
			q.Queue(`INSERT INTO firm (firm, name, created_at) VALUES ($1, 'A firm', now())`, firm.String())
		}
	})
	if n := countFirms(t, db.Read, firm); !errors.Is(err, events.ErrConflict) || n != 0 {
		t.Errorf("%v and %d rows, want ErrConflict and none", err, n)
	}
}
