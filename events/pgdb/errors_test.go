package pgdb_test

import (
	"context"
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
)

// meaning is what the program makes of an error.
type meaning struct {
	unavailable, conflict, retryable, lost, refused bool
}

func meaningOf(err error) meaning {
	return meaning{
		unavailable: errors.Is(err, events.ErrUnavailable),
		conflict:    errors.Is(err, events.ErrConflict),
		retryable:   pgdb.Retryable(err),
		lost:        pgdb.Lost(err),
		refused:     pgdb.Refused(err),
	}
}

// Each code (PostgreSQL, appendix A) is raised by the database itself, and by
// each of the ways there are.
func TestCodes(t *testing.T) {
	t.Parallel()
	var (
		unavailable = meaning{unavailable: true}
		conflict    = meaning{conflict: true}
		lost        = meaning{unavailable: true, lost: true}
		again       = meaning{unavailable: true, retryable: true}
		refused     = meaning{refused: true}
		internal    = meaning{}
	)
	db := pgtest.New(t).App
	for code, want := range map[string]meaning{
		"08000": lost,        // connection_exception
		"08006": lost,        // connection_failure
		"22003": refused,     // numeric_value_out_of_range
		"22P05": refused,     // untranslatable_character
		"23503": internal,    // foreign_key_violation
		"23505": conflict,    // unique_violation
		"23514": internal,    // check_violation
		"25006": lost,        // read_only_sql_transaction
		"25P03": unavailable, // idle_in_transaction_session_timeout
		"40001": again,       // serialization_failure
		"40P01": again,       // deadlock_detected
		"42501": internal,    // insufficient_privilege
		"42601": internal,    // syntax_error
		"42P01": internal,    // undefined_table
		"53100": unavailable, // disk_full
		"53300": unavailable, // too_many_connections
		"54001": refused,     // statement_too_complex
		"55P03": unavailable, // lock_not_available
		"57014": unavailable, // query_canceled
		"57P01": lost,        // admin_shutdown
		"57P02": lost,        // crash_shutdown
		"57P03": lost,        // cannot_connect_now
		"58030": unavailable, // io_error
		"XX001": internal,    // data_corrupted
	} {
		t.Run(code, func(t *testing.T) {
			raise := fmt.Sprintf(`DO $$ BEGIN RAISE EXCEPTION 'on purpose' USING ERRCODE = '%s'; END $$`, code)
			for name, err := range map[string]error{
				"WithFirm": db.WithFirm(t.Context(), events.ID{1}, func(tx pgx.Tx) error { _, err := tx.Exec(t.Context(), raise); return err }),
				"Read":     db.Read(t.Context(), events.ID{1}, func(q *pgx.Batch) { q.Queue(raise) }),
				"Write":    db.Write(t.Context(), events.ID{1}, func(q *pgx.Batch) { q.Queue(raise) }),
			} {
				if got := meaningOf(err); got != want || pgdb.Code(err) != code {
					t.Errorf("%s: %+v of code %q, want %+v: %v", name, got, pgdb.Code(err), want, err)
				}
			}
		})
	}
}

// Errors without a code: the caller's own pass unchanged, those of the wire and
// of time mean that the database is away for now.
func TestErrorsWithoutACode(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t).App
	for name, tt := range map[string]struct {
		do   func(ctx context.Context, tx pgx.Tx) error
		want meaning
	}{
		"NotFound": {func(context.Context, pgx.Tx) error { return events.ErrNotFound }, meaning{}},
		"Conflict": {func(context.Context, pgx.Tx) error { return events.ErrConflict }, meaning{conflict: true}},
		"NoRow": {func(ctx context.Context, tx pgx.Tx) error {
			return tx.QueryRow(ctx, `SELECT 1 WHERE false`).Scan(new(int))
		}, meaning{}},
		"Unencodable": {func(ctx context.Context, tx pgx.Tx) error {
			_, err := tx.Exec(ctx, `SELECT $1::uuid`, struct{}{})
			return err
		}, meaning{}},
		"Deadline": {func(ctx context.Context, tx pgx.Tx) error {
			_, err := tx.Exec(ctx, `SELECT pg_sleep(5)`)
			return err
		}, meaning{unavailable: true}},
		"Cut": {func(ctx context.Context, tx pgx.Tx) error {
			_, err := tx.Exec(ctx, `SELECT pg_terminate_backend(pg_backend_pid())`)
			return err
		}, meaning{unavailable: true, lost: true}},
	} {
		t.Run(name, func(t *testing.T) {
			ctx, cancel := context.WithTimeout(t.Context(), 300*time.Millisecond)
			defer cancel()
			began := time.Now()
			err := db.WithFirm(ctx, events.ID{1}, func(tx pgx.Tx) error { return tt.do(ctx, tx) })
			if got := meaningOf(err); err == nil || got != tt.want {
				t.Errorf("%+v, want %+v: %v", got, tt.want, err)
			}
			if took := time.Since(began); took > 2*time.Second {
				t.Errorf("it took %s", took)
			}
			firm := eventstest.NewFirm(t)
			if err := addFirm(t.Context(), db, firm, firm); err != nil {
				t.Errorf("the next transaction: %v", err)
			}
		})
	}
}

// What broke off while it was committed has an outcome that nobody knows; what the database
// refused, what never got there and what changes nothing has one.
func TestUnknown(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t).App
	const cut = `SELECT pg_terminate_backend(pg_backend_pid())`
	away, err := pgdb.Open(t.Context(), "postgres://x@127.0.0.1:1/x?sslmode=disable")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(away.Close)
	cutFrom := func(tx pgx.Tx) error { return exec(t.Context(), tx, cut) }
	for name, tt := range map[string]struct {
		err  error
		want bool
	}{
		"Write":      {db.Write(t.Context(), events.ID{1}, func(b *pgx.Batch) { b.Queue(cut) }), true},
		"BeforeFirm": {db.BeforeFirm(t.Context(), func(b *pgx.Batch) { b.Queue(cut) }), true},
		"Unsent": {db.WithFirm(t.Context(), events.ID{1}, func(tx pgx.Tx) error {
			cutFrom(tx)
			return nil
		}), false},
		"Read":    {db.Read(t.Context(), events.ID{1}, func(b *pgx.Batch) { b.Queue(cut) }), false},
		"Before":  {db.WithFirm(t.Context(), events.ID{1}, cutFrom), false},
		"Refused": {db.Write(t.Context(), events.ID{1}, func(b *pgx.Batch) { b.Queue(`DO $$ BEGIN RAISE EXCEPTION '' USING ERRCODE = '40001'; END $$`) }), false},
		"Away":    {away.Write(t.Context(), events.ID{1}, func(b *pgx.Batch) { b.Queue(`SELECT 1`) }), false},
	} {
		if !errors.Is(tt.err, events.ErrUnavailable) || errors.Is(tt.err, events.ErrUnknown) != tt.want {
			t.Errorf("%s: %v, want it unavailable, and unknown: %t", name, tt.err, tt.want)
		}
	}
}
