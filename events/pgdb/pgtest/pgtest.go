// Package pgtest gives each test a real Postgres database of its own, at the
// newest schema, with nothing in it.
//
// The first test of a process starts a private server, from a copy of a data
// folder that is kept between runs in the user's cache folder. The server ends
// with the process. RELEVEL_TEST_DATABASE_URL, a URL with a superuser, makes
// the tests use a running server instead. A test never skips for want of a
// database: it fails and says what to install.
package pgtest

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"io"
	"testing"

	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
)

// DB is one test's database. It is dropped when the test ends.
type DB struct {
	Name   string
	Server *localpg.Server // only that of Own; nil for the shared server
	App    *pgdb.DB        // a pool under the role the server works as

	own *private // likewise
	t   testing.TB
	dsn func(role, database string) string
	// straight is dsn where that leads by way of something else, for Connect.
	straight func(role, database string) string
}

// New makes a database on the server that the tests of a process share. That
// server does not wait for the disk.
func New(t testing.TB) *DB {
	t.Helper()
	c, err := shared()
	if err != nil {
		t.Fatal(err)
	}
	d := &DB{Name: "test_" + randomName(t), t: t, dsn: c.dsn}
	c.create(t, d.Name)
	t.Cleanup(func() { c.drop(t, d.Name) })
	d.App = d.Open(pgdb.App)
	return d
}

// Empty makes a database without a schema on the server that the tests of a process
// share, for what is restored into it or migrated from nothing.
func Empty(t testing.TB) *DB {
	t.Helper()
	c, err := shared()
	if err != nil {
		t.Fatal(err)
	}
	d := &DB{Name: "test_" + randomName(t), t: t, dsn: c.dsn}
	if err := pgdb.EnsureDatabase(t.Context(), c.dsn(localpg.Superuser, "postgres"), d.Name); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.drop(t, d.Name) })
	d.App = d.Open(pgdb.App)
	return d
}

// Own makes a database on a server of its own with durable settings, for tests
// that stop or kill it, and for measuring.
func Own(t testing.TB) *DB {
	t.Helper()
	c, server, err := start(t.Context(), false)
	if err != nil {
		t.Fatal(err)
	}
	d := &DB{Name: "test_" + randomName(t), Server: server.Server, own: &server, t: t, dsn: c.dsn}
	t.Cleanup(func() {
		if err := server.stop(); err != nil {
			t.Errorf("stop the test's own server: %v", err)
		}
	})
	c.create(t, d.Name)
	d.App = d.Open(pgdb.App)
	return d
}

// StartAgain starts the server of Own after it was given up, on the same data.
func (d *DB) StartAgain() {
	d.t.Helper()
	if err := d.own.startAgain(context.Background()); err != nil {
		d.t.Fatal(err)
	}
	d.Server = d.own.Server
}

// DSN is the address of the database for one of the roles of pgdb.
func (d *DB) DSN(role string) string { return d.dsn(role, d.Name) }

// Open returns a pool under a role, closed when the test ends.
func (d *DB) Open(role string) *pgdb.DB {
	d.t.Helper()
	db, err := pgdb.Open(context.Background(), d.DSN(role))
	if err != nil {
		d.t.Fatal(err)
	}
	d.t.Cleanup(db.Close)
	return db
}

// Connect returns a plain connection under a role, closed when the test ends.
func (d *DB) Connect(role string) *pgx.Conn {
	d.t.Helper()
	dsn := d.dsn
	if d.straight != nil {
		dsn = d.straight
	}
	conn, err := pgx.Connect(d.t.Context(), dsn(role, d.Name))
	if err != nil {
		d.t.Fatal(err)
	}
	d.t.Cleanup(func() { conn.Close(context.Background()) })
	return conn
}

func randomName(t testing.TB) string {
	t.Helper()
	var b [8]byte
	rand.Read(b[:]) // never fails
	return hex.EncodeToString(b[:])
}

// Logged is Own with every statement in a log.
func Logged(t testing.TB, log io.Writer) *DB {
	t.Helper()
	c, server, err := startLogged(t.Context(), log)
	if err != nil {
		t.Fatal(err)
	}
	endLater(t, server)
	d := &DB{Name: "test_" + randomName(t), Server: server.Server, t: t, dsn: c.dsn}
	c.create(t, d.Name)
	for _, statement := range []string{`ALTER SYSTEM SET log_line_prefix = '%u: '`, `ALTER SYSTEM SET log_statement = 'all'`, `ALTER SYSTEM SET log_parameter_max_length = 0`, `SELECT pg_reload_conf()`} {
		Ask(t, d.Server, statement)
	}
	d.App = d.Open(pgdb.App)
	return d
}
