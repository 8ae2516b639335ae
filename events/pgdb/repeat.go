package pgdb

import (
	"context"
	"errors"
	"math/rand/v2"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// How often a transaction is run that loses against another one, and for how long at
// most it waits after the first time. It waits twice as long after each further one, and
// a random part of that, so that two which met do not meet again: 75 ms in all on average.
const (
	maxTries = 5
	maxWait  = 10 * time.Millisecond
)

// repeated takes a connection and runs a transaction on it, and again where that lost
// against another one. It keeps the connection between two tries: then no try fails for
// want of one.
//
// Only what the database says it rolled back is run again. COMMIT may say that as well;
// where its outcome is not known, whoever asked has to ask again, with the same ids.
func (d *DB) repeated(ctx context.Context, run func(conn *pgx.Conn) error) error {
	conn, err := d.acquire(ctx)
	if err != nil {
		return err
	}
	defer conn.Release()
	for try := 1; ; try++ {
		err := run(conn.Conn())
		if !rolledBack(err) || try == maxTries || !waited(ctx, try) {
			return err
		}
		d.repeats.Add(1)
	}
}

// rolledBack reports whether the database ended a transaction in favour of another one
// and the session goes on. An error that ends the session (FATAL) may come after a commit.
func rolledBack(err error) bool {
	var db *pgconn.PgError
	return errors.As(err, &db) && Retryable(db) && db.SeverityUnlocalized == "ERROR"
}

// waited waits before the next try and reports whether there is to be one: not for a
// caller who has left.
func waited(ctx context.Context, try int) bool {
	timer := time.NewTimer(rand.N(maxWait << (try - 1)))
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-timer.C:
		return ctx.Err() == nil
	}
}

// Repeats is how often transactions were run again, for whoever watches.
func (d *DB) Repeats() int64 { return d.repeats.Load() }
