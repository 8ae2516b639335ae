package pgdb

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"

	"relevel/events"
)

// SQLSTATE codes that are told apart here (PostgreSQL, appendix A).
const (
	uniqueViolation      = "23505"
	serializationFailure = "40001"
	deadlockDetected     = "40P01"
	readOnlyTransaction  = "25006"
	queryCanceled        = "57014"
	lockNotAvailable     = "55P03"
	idleInTransaction    = "25P03"
	undefinedTable       = "42P01"
	duplicateObject      = "42710"

	classConnection   = "08"
	classResources    = "53"
	classIntervention = "57P" // shutdown, crash, starting up
	classSystem       = "58"  // I/O errors below the database
)

// Code is the SQLSTATE of an error, "" when it did not come from the database.
func Code(err error) string {
	var db *pgconn.PgError
	if errors.As(err, &db) {
		return db.Code
	}
	return ""
}

// Retryable reports whether a transaction lost against another one and may
// simply be run again.
func Retryable(err error) bool {
	code := Code(err)
	return code == serializationFailure || code == deadlockDetected
}

// UniqueViolation reports whether a row with that key exists already.
func UniqueViolation(err error) bool { return Code(err) == uniqueViolation }

// Refused reports whether the database took exception to a value: its text,
// number or size (class 22), or its depth (54001).
func Refused(err error) bool {
	code := Code(err)
	return strings.HasPrefix(code, "22") || strings.HasPrefix(code, "54")
}

// translate puts the sentinel of package events in front of an error, by code
// or type, and keeps the error itself behind it. When the server we talk to is
// gone or no longer takes writes, the idle connections are given up as well:
// the next ones find the new primary.
func (d *DB) translate(err error) error {
	if err == nil || errors.Is(err, events.ErrUnavailable) {
		return err
	}
	if Lost(err) {
		d.pool.Reset()
	}
	switch {
	case unavailable(err):
		return fmt.Errorf("%w: %w", events.ErrUnavailable, err)
	case UniqueViolation(err) && !errors.Is(err, events.ErrConflict):
		return fmt.Errorf("%w: %w", events.ErrConflict, err)
	}
	return err
}

// broken translates an error of what was being committed. The database itself says so
// where it did not commit, and a connection where it sent nothing; all else leaves the
// outcome unknown.
func (d *DB) broken(err error) error {
	if !unknown(err) {
		return d.translate(err)
	}
	return fmt.Errorf("%w: %w", events.ErrUnknown, d.translate(err))
}

func unknown(err error) bool {
	var db *pgconn.PgError
	if errors.As(err, &db) {
		return db.SeverityUnlocalized != "ERROR" // the session ended with it
	}
	return err != nil && connectionFailed(err) && !pgconn.SafeToRetry(err)
}

// Lost reports whether the connection was cut, or its server went down or no
// longer takes writes. The same work may be tried once more on another one.
func Lost(err error) bool {
	switch code := Code(err); {
	case code == "":
		return connectionFailed(err) && !timedOut(err)
	case code == readOnlyTransaction:
		return true
	default:
		return strings.HasPrefix(code, classIntervention) || strings.HasPrefix(code, classConnection)
	}
}

func timedOut(err error) bool {
	return pgconn.Timeout(err) || errors.Is(err, context.DeadlineExceeded) || errors.Is(err, context.Canceled)
}

func unavailable(err error) bool {
	switch code := Code(err); {
	case code == "":
		return connectionFailed(err)
	case code == readOnlyTransaction, code == queryCanceled, code == lockNotAvailable, code == idleInTransaction,
		code == serializationFailure, code == deadlockDetected:
		return true
	default:
		return strings.HasPrefix(code, classConnection) || strings.HasPrefix(code, classResources) ||
			strings.HasPrefix(code, classIntervention) || strings.HasPrefix(code, classSystem)
	}
}

// connectionFailed tells errors of the wire from those of the program, which
// have no code either (a value that cannot be encoded, a row too few).
func connectionFailed(err error) bool {
	var connect *pgconn.ConnectError
	var wire net.Error
	if errors.As(err, &connect) || errors.As(err, &wire) || pgconn.Timeout(err) || pgconn.SafeToRetry(err) {
		return true
	}
	for _, lost := range []error{
		context.DeadlineExceeded, context.Canceled,
		io.EOF, io.ErrUnexpectedEOF, net.ErrClosed, pgconn.ErrConnClosed,
	} {
		if errors.Is(err, lost) {
			return true
		}
	}
	return false
}
