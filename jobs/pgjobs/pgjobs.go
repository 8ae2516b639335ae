// Package pgjobs keeps firms, tokens, people with their accounts and sessions, crews,
// profiles, kit, jobs and their summaries, and what is known of phones, in Postgres.
package pgjobs

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/pgdb"
)

// Store is a jobs.Store over a pool of the app role.
type Store struct {
	db *pgdb.DB
}

// New returns a store over a pool, which stays the caller's.
func New(db *pgdb.DB) *Store { return &Store{db} }

// A foreign key points at nothing, a key is there already (PostgreSQL, appendix A).
const (
	foreignKeyViolation = "23503"
	uniqueViolation     = "23505"
)

// create runs an insert that leaves an existing row alone, and then reads what
// is there, in one transaction and one round trip. The second statement sees
// what another transaction committed while the first one waited for it.
func (s *Store) create(ctx context.Context, firm events.ID, insert, find statement, scan func(pgx.Row) error) error {
	if firm.IsZero() {
		return events.ErrNotFound
	}
	err := s.db.Write(ctx, firm, func(b *pgx.Batch) {
		b.Queue(insert.sql, insert.args...)
		b.Queue(find.sql, find.args...).QueryRow(scan)
		pgdb.Repeatable(b)
	})
	if pgdb.Code(err) == foreignKeyViolation {
		return fmt.Errorf("%w: %w", events.ErrNotFound, err)
	}
	return err
}

// find reads one row.
func (s *Store) find(ctx context.Context, firm events.ID, find statement, scan func(pgx.Row) error) error {
	if firm.IsZero() {
		return events.ErrNotFound
	}
	err := s.db.Read(ctx, firm, func(b *pgx.Batch) {
		b.Queue(find.sql, find.args...).QueryRow(scan)
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return events.ErrNotFound
	}
	return err
}

// change runs a statement that changes one row and returns it.
func (s *Store) change(ctx context.Context, firm events.ID, change statement, scan func(pgx.Row) error) error {
	if firm.IsZero() {
		return events.ErrNotFound
	}
	err := s.db.Write(ctx, firm, func(b *pgx.Batch) {
		b.Queue(change.sql, change.args...).QueryRow(scan)
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return events.ErrNotFound
	}
	return err
}

// writeDerived runs a statement that writes what can be made again from the log, or
// is said again soon: nobody waits for its disk.
func (s *Store) writeDerived(ctx context.Context, firm events.ID, write statement) error {
	if firm.IsZero() {
		return events.ErrNotFound
	}
	return s.db.Write(ctx, firm, func(b *pgx.Batch) {
		b.Queue(`SELECT set_config('synchronous_commit', 'off', true)`)
		b.Queue(write.sql, write.args...)
	})
}

// list reads all rows of a statement, whose one argument is the firm.
func list[T any](ctx context.Context, s *Store, firm events.ID, sql string, scan func(pgx.Row) (T, error)) ([]T, error) {
	return listOf(ctx, s, firm, with(sql, uuid(firm)), scan)
}

// listOf reads all rows of a statement.
func listOf[T any](ctx context.Context, s *Store, firm events.ID, find statement, scan func(pgx.Row) (T, error)) ([]T, error) {
	if firm.IsZero() {
		return nil, nil
	}
	var all []T
	err := s.db.Read(ctx, firm, func(b *pgx.Batch) {
		b.Queue(find.sql, find.args...).Query(func(rows pgx.Rows) error {
			var err error
			all, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (T, error) { return scan(row) })
			return err
		})
	})
	return all, err
}

// statement is SQL with its arguments.
type statement struct {
	sql  string
	args []any
}

func with(sql string, args ...any) statement { return statement{sql, args} }

// uuid is an id as the driver takes it.
func uuid(id events.ID) [16]byte { return id }

func uuids(ids []events.ID) [][16]byte {
	list := make([][16]byte, len(ids))
	for i, id := range ids {
		list[i] = id
	}
	return list
}

// orNull is an id that may be missing.
func orNull(id events.ID) *[16]byte {
	if id.IsZero() {
		return nil
	}
	return (*[16]byte)(&id)
}

// missing says of an error that what a row refers to is not there, if it was that.
func missing(err error) error {
	if pgdb.Code(err) == foreignKeyViolation {
		return fmt.Errorf("%w: %w", events.ErrNotFound, err)
	}
	return err
}

// orNotFound says of an error that a row was missing, if it was.
func orNotFound(err error) error {
	if errors.Is(err, pgx.ErrNoRows) {
		return events.ErrNotFound
	}
	return err
}

// orNever is a time that may be missing.
func orNever(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return t.UTC()
}

// orNullTime is a time as the driver takes it, where zero is none.
func orNullTime(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}

// idInto scans an id.
func idInto(id *events.ID) *[16]byte { return (*[16]byte)(id) }

func orZero(id *[16]byte) events.ID {
	if id == nil {
		return events.ID{}
	}
	return *id
}
