package pgdb_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
)

const insertFirm = `INSERT INTO firm (firm, name, created_at) VALUES ($1, 'A firm', now())`

// ways are functions that add a firm by each of the ways to change something, or look at
// something by each of the others, and tell whoever counts.
func ways(ctx context.Context, db *pgdb.DB, firm events.ID, run func()) map[string]func() error {
	add := func(b *pgx.Batch) { run(); b.Queue(insertFirm, firm.String()) }
	look := func(b *pgx.Batch) { run(); b.Queue(`SELECT 1`) }
	return map[string]func() error{
		"WithFirm": func() error {
			return db.WithFirm(ctx, firm, func(tx pgx.Tx) error {
				run()
				_, err := tx.Exec(ctx, insertFirm, firm.String())
				return err
			})
		},
		"Write":      func() error { return db.Write(ctx, firm, add) },
		"Read":       func() error { return db.Read(ctx, firm, look) },
		"BeforeFirm": func() error { return db.BeforeFirm(ctx, look) },
		"OverFirms":  func() error { return db.OverFirms(ctx, look) },
	}
}

// stores says which of the ways add a firm.
var stores = map[string]int{"WithFirm": 1, "Write": 1}

// Whatever loses against another transaction, at the last moment, is run again, and what
// it does is done once.
func TestRepeats(t *testing.T) {
	t.Parallel()
	d := pgtest.New(t)
	l := pgtest.NewLosing(t, d)
	for _, code := range []string{pgtest.SerializationFailure, pgtest.DeadlockDetected} {
		l.As(code)
		for _, times := range []int{1, 4} {
			l.Times(times)
			for name := range ways(t.Context(), nil, events.ID{}, nil) {
				firm, tries, lost, repeats := eventstest.NewFirm(t), 0, l.Lost(), l.App.Repeats()
				if err := ways(t.Context(), l.App, firm, func() { tries++ })[name](); err != nil {
					t.Errorf("%s after %d times %s: %v", name, times, code, err)
				}
				if tries != times+1 || int(l.Lost()-lost) != times || int(l.App.Repeats()-repeats) != times {
					t.Errorf("%s: %d tries of which %d lost, want %d and %d", name, tries, l.Lost()-lost, times+1, times)
				}
				if n := countFirms(t, d.App.Read, firm); n != stores[name] {
					t.Errorf("%s: %d rows are stored, want %d", name, n, stores[name])
				}
			}
		}
	}
}

// What loses each time is given up after the fifth, is told as unavailable, and has done
// nothing; so is what loses while its caller leaves, at once.
func TestRepeatsEnd(t *testing.T) {
	t.Parallel()
	d := pgtest.New(t)
	l := pgtest.NewLosing(t, d)
	l.Times(1 << 20)
	for name := range ways(t.Context(), nil, events.ID{}, nil) {
		for _, leaves := range []bool{false, true} {
			ctx, cancel := context.WithCancel(t.Context())
			want := 5
			l.Instead(func() {})
			if leaves {
				want = 1
				l.Instead(cancel)
			}
			firm, tries := eventstest.NewFirm(t), 0
			err := ways(ctx, l.App, firm, func() { tries++ })[name]()
			if !errors.Is(err, events.ErrUnavailable) || errors.Is(err, events.ErrUnknown) || tries != want {
				t.Errorf("%s, its caller leaves %t: %d tries, want %d, and %v", name, leaves, tries, want, err)
			}
			if n := countFirms(t, d.App.Read, firm); n != 0 {
				t.Errorf("%s: %d rows are stored", name, n)
			}
			cancel()
		}
	}
	until := time.Now().Add(time.Minute) // one that broke off is closed behind the answer
	for l.App.Pool().Stat().AcquiredConns() != 0 {
		if time.Now().After(until) {
			t.Fatalf("%d connections were not given back", l.App.Pool().Stat().AcquiredConns())
		}
		time.Sleep(time.Millisecond)
	}
}

// Nothing else is run again: neither what failed for a reason of its own nor what may
// have been committed.
func TestNotRepeated(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t).App
	mine := errors.New("mine")
	for name, do := range map[string]func(tx pgx.Tx) error{
		"Mine":      func(pgx.Tx) error { return mine },
		"NoRow":     func(tx pgx.Tx) error { return tx.QueryRow(t.Context(), `SELECT 1 WHERE false`).Scan(new(int)) },
		"Unique":    func(tx pgx.Tx) error { return raised(t.Context(), tx, "23505") },
		"Locked":    func(tx pgx.Tx) error { return raised(t.Context(), tx, "55P03") },
		"Cancelled": func(tx pgx.Tx) error { return raised(t.Context(), tx, "57014") },
		"Cut":       func(tx pgx.Tx) error { return exec(t.Context(), tx, `SELECT pg_terminate_backend(pg_backend_pid())`) },
	} {
		tries := 0
		err := db.WithFirm(t.Context(), events.ID{1}, func(tx pgx.Tx) error { tries++; return do(tx) })
		if err == nil || tries != 1 {
			t.Errorf("%s: %d tries, and %v", name, tries, err)
		}
	}
	tries := 0
	err := db.Write(t.Context(), events.ID{1}, func(b *pgx.Batch) { tries++; b.Queue(`SELECT pg_terminate_backend(pg_backend_pid())`) })
	if !errors.Is(err, events.ErrUnknown) || tries != 1 {
		t.Errorf("a write that broke off: %d tries, want one, and %v", tries, err)
	}
	if n := db.Repeats(); n != 0 {
		t.Errorf("%d repeats", n)
	}
}

func raised(ctx context.Context, tx pgx.Tx, code string) error {
	return exec(ctx, tx, `DO $$ BEGIN RAISE EXCEPTION 'on purpose' USING ERRCODE = '`+code+`'; END $$`)
}

// An error that ends the session may follow a commit.
func TestRolledBack(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		code, severity string
		want           bool
	}{
		{"40001", "ERROR", true}, {"40P01", "ERROR", true},
		{"40001", "FATAL", false}, {"40P01", "PANIC", false}, {"40001", "", false},
		{"40000", "ERROR", false}, {"40002", "ERROR", false}, {"40003", "ERROR", false}, // statement_completion_unknown
	} {
		if got := pgdb.RolledBack(&pgconn.PgError{Code: tt.code, SeverityUnlocalized: tt.severity}); got != tt.want {
			t.Errorf("%s %s: %t, want %t", tt.severity, tt.code, got, tt.want)
		}
	}
	if pgdb.RolledBack(nil) || pgdb.RolledBack(errors.New("mine")) {
		t.Error("what does not come from the database is run again")
	}
}

// Two transactions that wait for each other in a ring both end well: the database ends
// one, which is run again.
func TestDeadlockIsRepeated(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t).App
	firm := eventstest.NewFirm(t)
	jobs := []events.ID{{1}, {2}}
	for _, job := range jobs {
		if err := send(t, db, firm, `INSERT INTO head (firm, job, root) VALUES ($1, $2, sha256(''))`, firm.String(), job.String()); err != nil {
			t.Fatal(err)
		}
	}
	const grow = `UPDATE head SET seq = seq + 1 WHERE firm = $1 AND job = $2`
	met := make(chan struct{}, 2)
	both := make(chan error, 2)
	for i := range jobs {
		go func() {
			first := true
			both <- db.WithFirm(t.Context(), firm, func(tx pgx.Tx) error {
				if _, err := tx.Exec(t.Context(), grow, firm.String(), jobs[i].String()); err != nil {
					return err
				}
				if first {
					first = false
					met <- struct{}{}
					for len(met) < 2 && t.Context().Err() == nil {
						time.Sleep(time.Millisecond)
					}
				}
				_, err := tx.Exec(t.Context(), grow, firm.String(), jobs[1-i].String())
				return err
			})
		}()
	}
	for range jobs {
		if err := <-both; err != nil {
			t.Error(err)
		}
	}
	var sum int
	err := db.Read(t.Context(), firm, func(b *pgx.Batch) {
		b.Queue(`SELECT sum(seq) FROM head WHERE firm = $1`, firm.String()).QueryRow(func(row pgx.Row) error { return row.Scan(&sum) })
	})
	if err != nil || sum != 4 {
		t.Errorf("%d changes of the rows, want 4: %v", sum, err)
	}
	if db.Repeats() == 0 {
		t.Error("nothing was repeated: this shows nothing")
	}
}
