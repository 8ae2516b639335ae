package pgdb

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"relevel/events"
)

// setFirm sets the firm for this transaction only: nothing is left on the
// connection for whoever takes it next.
const setFirm = `SELECT set_config('app.firm', $1, true)`

// WithFirm runs fn in a transaction (READ COMMITTED) on behalf of a firm, and
// commits when fn returns nil. Beginning costs one round trip. The commit is
// not cancelled when ctx is; where its outcome is not known it is ErrUnknown, and the
// same work may be done again with the same ids.
//
// A transaction that loses against another one (40001, 40P01) is run again, up to five
// times in all: fn starts from the beginning each time, and must not add to what it left
// of a try before. The same holds for the functions that take results below.
//
// Row security is the second fence; statements in fn filter by firm themselves.
func (d *DB) WithFirm(ctx context.Context, firm events.ID, fn func(tx pgx.Tx) error) error {
	if firm.IsZero() {
		return errNoFirm
	}
	return d.repeated(ctx, func(conn *pgx.Conn) error { return d.transact(ctx, conn, firm, fn) })
}

func (d *DB) transact(ctx context.Context, conn *pgx.Conn, firm events.ID, fn func(tx pgx.Tx) error) error {
	tx, err := begin(ctx, conn, firm)
	if err != nil {
		return d.translate(err)
	}
	defer tx.Rollback(context.WithoutCancel(ctx)) // no effect after a commit
	if err := fn(tx); err != nil {
		return d.translate(err)
	}
	if err := ctx.Err(); err != nil {
		return d.translate(err)
	}
	return d.broken(commit(ctx, tx))
}

func begin(ctx context.Context, conn *pgx.Conn, firm events.ID) (pgx.Tx, error) {
	var b pgx.Batch
	b.BeginTx(pgx.TxOptions{})
	b.Queue(setFirm, firm.String())
	results := conn.SendBatch(ctx, &b)
	tx := results.Tx()
	if err := results.Close(); err != nil {
		tx.Rollback(context.WithoutCancel(ctx))
		return nil, fmt.Errorf("begin: %w", err)
	}
	return tx, nil
}

var errNoFirm = errors.New("no firm is given for a transaction")

func commit(ctx context.Context, tx pgx.Tx) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), commitTimeout)
	defer cancel()
	warnings := warningsOf(tx.Conn())
	before := warnings.count
	if err := tx.Commit(ctx); err != nil {
		return fmt.Errorf("commit: %w", err)
	}
	return warnings.since(before)
}

// Read sends statements on behalf of a firm in one round trip. The functions
// that queue attaches to them take the results. Cancelling ctx cancels them.
func (d *DB) Read(ctx context.Context, firm events.ID, queue func(b *pgx.Batch)) error {
	if firm.IsZero() {
		return errNoFirm
	}
	return d.read(ctx, firm.String(), queue)
}

// OverFirms is Read on behalf of no firm and of all of them: for the role that looks
// over them, which sees ids, numbers and tasks, and for what is of none. A statement of it
// that changes something may be cancelled half way, after which it is not known whether it did.
func (d *DB) OverFirms(ctx context.Context, queue func(b *pgx.Batch)) error {
	return d.read(ctx, "", queue)
}

// Write is Read for statements that change something. They and their commit
// are one round trip and one transaction: all of them happen or none. It is
// not cancelled once sent, and like a commit may end with ErrUnknown.
func (d *DB) Write(ctx context.Context, firm events.ID, queue func(b *pgx.Batch)) error {
	if firm.IsZero() {
		return errNoFirm
	}
	return d.write(ctx, firm.String(), queue)
}

// BeforeFirm is Write on behalf of no firm: for what leads somebody to one. Row
// security shows such statements nothing of any firm.
func (d *DB) BeforeFirm(ctx context.Context, queue func(b *pgx.Batch)) error {
	return d.write(ctx, "", queue)
}

func (d *DB) read(ctx context.Context, firm string, queue func(b *pgx.Batch)) error {
	return d.repeated(ctx, func(conn *pgx.Conn) error {
		return d.translate(roundTrip(ctx, conn, firm, queue))
	})
}

func (d *DB) write(ctx context.Context, firm string, queue func(b *pgx.Batch)) error {
	return d.repeated(ctx, func(conn *pgx.Conn) error {
		if err := ctx.Err(); err != nil {
			return d.translate(err)
		}
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), commitTimeout)
		defer cancel()
		return d.broken(roundTrip(ctx, conn, firm, queue))
	})
}

// roundTrip relies on the protocol: what is sent up to one Sync message runs
// as one transaction, which the Sync commits.
func roundTrip(ctx context.Context, conn *pgx.Conn, firm string, queue func(b *pgx.Batch)) error {
	var b pgx.Batch
	b.Queue(setFirm, firm)
	queue(&b)
	warnings := warningsOf(conn)
	before := warnings.count
	if err := conn.SendBatch(ctx, &b).Close(); err != nil {
		return err
	}
	return warnings.since(before)
}

// Repeatable has a transaction that finds everything there already wait as the one did
// that put it there: a commit that changed nothing waits for no disk and no standby, and
// what it repeats may have been answered with ErrUnknown for want of just these. It is
// queued behind what may change nothing.
func Repeatable(b *pgx.Batch) {
	b.Queue(`SELECT CASE WHEN pg_current_xact_id_if_assigned() IS NULL THEN pg_logical_emit_message(true, 'relevel', '') END`)
}

// warnings counts what a connection was warned of. A commit that gave up its
// wait for a standby succeeds with no more than a warning, and must not be
// taken for durable.
type warnings struct{ count int }

const warningsKey = "warnings"

func warningsOf(conn *pgx.Conn) *warnings {
	data := conn.PgConn().CustomData()
	w, ok := data[warningsKey].(*warnings)
	if !ok {
		w = &warnings{}
		data[warningsKey] = w
	}
	return w
}

func noteWarning(conn *pgconn.PgConn, n *pgconn.Notice) {
	if w, ok := conn.CustomData()[warningsKey].(*warnings); ok && n.SeverityUnlocalized == "WARNING" {
		w.count++
	}
}

func (w *warnings) since(before int) error {
	if w.count == before {
		return nil
	}
	return fmt.Errorf("%w: the database warned at the commit, so it may not have reached every standby", events.ErrUnknown)
}
