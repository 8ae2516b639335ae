package pgdb_test

import (
	"context"
	"errors"
	"strings"
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

// One connection serves two firms in turn. Nothing of the first is left on it
// for the second, nor for somebody who sets no firm.
func TestFirmsOnOneConnection(t *testing.T) {
	db := one(t, pgtest.New(t))
	a, b := eventstest.NewFirm(t), eventstest.NewFirm(t)
	for _, firm := range []events.ID{a, b} {
		if err := addFirm(t.Context(), db, firm, firm); err != nil {
			t.Fatal(err)
		}
	}
	count := func(firm events.ID) (n int) {
		t.Helper()
		err := db.Read(t.Context(), firm, func(q *pgx.Batch) {
			q.Queue(`SELECT count(*) FROM firm`).QueryRow(func(row pgx.Row) error { return row.Scan(&n) })
		})
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	if n := count(a); n != 1 {
		t.Errorf("firm a sees %d firms", n)
	}
	var n int
	var left string
	if err := db.Pool().QueryRow(t.Context(), `SELECT count(*), current_setting('app.firm', true) FROM firm`).Scan(&n, &left); err != nil {
		t.Fatal(err)
	}
	if n != 0 || left != "" {
		t.Errorf("without a firm %d firms are seen, and %q was left", n, left)
	}
	if n := count(eventstest.NewFirm(t)); n != 0 {
		t.Errorf("a firm without a row sees %d", n)
	}
}

// one is a pool of a single connection.
func one(t *testing.T, d *pgtest.DB) *pgdb.DB {
	t.Helper()
	dsn := d.DSN(pgdb.App)
	sep := "?"
	if strings.Contains(dsn, "?") {
		sep = "&"
	}
	db, err := pgdb.Open(t.Context(), dsn+sep+"pool_max_conns=1")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(db.Close)
	return db
}

func TestRowsOfAnotherFirmAreRefused(t *testing.T) {
	db := pgtest.New(t).App
	a, b := eventstest.NewFirm(t), eventstest.NewFirm(t)
	if err := addFirm(t.Context(), db, b, a); pgdb.Code(err) != insufficientPrivilege {
		t.Errorf("a row of another firm was let in: %v", err)
	}
	if err := addFirm(t.Context(), db, b, events.ID{}); err == nil {
		t.Error("a transaction for no firm began")
	}
	if err := db.Write(t.Context(), events.ID{}, func(*pgx.Batch) {}); err == nil {
		t.Error("a statement for no firm was sent")
	}
}

// What fn returns ends the transaction; a context that ends before the commit
// stores nothing.
func TestWithFirm(t *testing.T) {
	db := pgtest.New(t).App
	firm := eventstest.NewFirm(t)
	mine := errors.New("mine")
	err := db.WithFirm(t.Context(), firm, func(tx pgx.Tx) error {
		if _, err := tx.Exec(t.Context(), `INSERT INTO firm (firm, name, created_at) VALUES ($1, 'A firm', now())`, firm.String()); err != nil {
			return err
		}
		return mine
	})
	if !errors.Is(err, mine) {
		t.Errorf("%v, want the error of fn", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	err = db.WithFirm(ctx, firm, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `INSERT INTO firm (firm, name, created_at) VALUES ($1, 'A firm', now())`, firm.String())
		cancel()
		return err
	})
	if !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("ended before the commit: %v, want ErrUnavailable", err)
	}
	if err := addFirm(t.Context(), db, firm, firm); err != nil {
		t.Errorf("something was stored by the two before: %v", err)
	}
	if err := addFirm(t.Context(), db, firm, firm); !errors.Is(err, events.ErrConflict) {
		t.Errorf("a second row of one key: %v, want ErrConflict", err)
	}
}

func TestOpenRefusesTheSimpleProtocol(t *testing.T) {
	if _, err := pgdb.Open(t.Context(), "postgres://x@localhost/x?default_query_exec_mode=simple_protocol"); err == nil {
		t.Error("it was let in")
	}
}

// Nobody answers at the address: an error soon, and the right one.
func TestNobodyThere(t *testing.T) {
	db, err := pgdb.Open(t.Context(), "postgres://x@127.0.0.1:1/x")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(db.Close)
	began := time.Now()
	if err := addFirm(t.Context(), db, events.ID{1}, events.ID{1}); !errors.Is(err, events.ErrUnavailable) {
		t.Errorf("%v, want ErrUnavailable", err)
	}
	if took := time.Since(began); took > 8*time.Second {
		t.Errorf("it took %s", took)
	}
}
