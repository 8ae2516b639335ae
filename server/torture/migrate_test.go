package torture_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"sync/atomic"
	"syscall"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/pgdb/pgtest"
)

// migrate is a process that brings a database up to date.
func migrate(dsn string) { orPanic(pgdb.Migrate(context.Background(), dsn)) }

// migrations is a Postgres whose databases are migrated over a wire.
type migrations struct {
	t    testing.TB
	db   *pgtest.DB // what comes out
	home string
	trap atomic.Pointer[trap]
	made int
}

func newMigrations(t testing.TB) *migrations {
	t.Helper()
	m := &migrations{t: t, db: pgtest.New(t)}
	var err error
	m.home, err = os.MkdirTemp("", "relevel-torture-")
	must(t, err)
	t.Cleanup(func() { os.RemoveAll(m.home) })
	listener, err := net.Listen("unix", filepath.Join(m.home, ".s.PGSQL.5432"))
	must(t, err)
	conn := m.db.App.Pool().Config().ConnConfig
	network, address := pgconn.NetworkAddress(conn.Host, conn.Port)
	newWire(t, listener, func() (net.Conn, error) { return net.Dial(network, address) }).watch =
		func() watcher { return newSession(&m.trap) }
	return m
}

// strike kills a migration of an empty database at an operation, and runs another one.
// It reports whether the first came as far as that operation.
func (m *migrations) strike(at int64, when phase) (sprung bool) {
	m.t.Helper()
	m.made++
	name := fmt.Sprintf("%s_%d", m.db.Name, m.made)
	m.admin("CREATE DATABASE " + name + " OWNER " + pgdb.Owner)
	defer m.admin("DROP DATABASE " + name + " WITH (FORCE)")
	m.admin("REVOKE ALL ON DATABASE " + name + " FROM PUBLIC")
	trap := &trap{at: at, when: when}
	started := make(chan *program, 1)
	trap.kill = func() { (<-started).cmd.Process.Signal(syscall.SIGKILL) }
	m.trap.Store(trap)
	first := run(m.t, beMigrator, m.dsn(pgdb.Owner, name, m.home))
	started <- first
	err := first.wait()
	m.trap.Store(nil)
	if sprung = trap.over(); err != nil && !sprung {
		m.t.Errorf("a migration that nobody killed: %v", err)
	}
	if err := pgdb.Migrate(context.Background(), m.dsn(pgdb.Owner, name, m.db.App.Pool().Config().ConnConfig.Host)); err != nil {
		m.t.Errorf("after one that was killed %s operation %d: %v", when, at, err)
	}
	want, got := m.catalogue(m.db.Name), m.catalogue(name)
	if diff := cmp.Diff(want, got); diff != "" {
		m.t.Errorf("after one that was killed %s operation %d (-undisturbed +disturbed):\n%s", when, at, diff)
	}
	return sprung
}

// dsn is the address of a database under a role, by a host or the folder of a socket.
func (m *migrations) dsn(role, database, host string) string {
	u, err := url.Parse(m.db.DSN(role))
	must(m.t, err)
	q := u.Query()
	q.Set("host", host)
	u.Path, u.RawQuery = "/"+database, q.Encode()
	return u.String()
}

// catalogue is all that makes up a schema, a line each.
func (m *migrations) catalogue(database string) []string {
	m.t.Helper()
	ctx := context.Background()
	conn, err := pgx.Connect(ctx, m.dsn(localpg.Superuser, database, m.db.App.Pool().Config().ConnConfig.Host))
	must(m.t, err)
	defer conn.Close(ctx)
	rows, err := conn.Query(ctx, `
		WITH ours AS (SELECT * FROM pg_class WHERE relnamespace = 'public'::regnamespace)
		SELECT format('%s.%s %s %s %s', c.relname, a.attname, format_type(a.atttypid, a.atttypmod), a.attnotnull, pg_get_expr(d.adbin, d.adrelid))
		FROM ours c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum > 0 LEFT JOIN pg_attrdef d ON d.adrelid = c.oid AND d.adnum = a.attnum
		UNION ALL SELECT format('%s %s %s %s', c.relname, c.relacl, c.relrowsecurity, c.relforcerowsecurity) FROM ours c
		UNION ALL SELECT format('%s %s', x.conname, pg_get_constraintdef(x.oid)) FROM pg_constraint x JOIN ours c ON c.oid = x.conrelid
		UNION ALL SELECT pg_get_indexdef(x.indexrelid) FROM pg_index x JOIN ours c ON c.oid = x.indrelid
		UNION ALL SELECT format('%s %s %s %s', c.relname, x.polname, pg_get_expr(x.polqual, x.polrelid), pg_get_expr(x.polwithcheck, x.polrelid)) FROM pg_policy x JOIN ours c ON c.oid = x.polrelid
		UNION ALL SELECT pg_get_triggerdef(x.oid) FROM pg_trigger x JOIN ours c ON c.oid = x.tgrelid AND NOT x.tgisinternal
		UNION ALL SELECT format('%s %s', proname, prosrc) FROM pg_proc WHERE pronamespace = 'public'::regnamespace
		UNION ALL SELECT format('version %s %s', version, dirty) FROM schema_migrations
		ORDER BY 1`)
	must(m.t, err)
	lines, err := pgx.CollectRows(rows, pgx.RowTo[string])
	must(m.t, err)
	if len(lines) < 100 {
		m.t.Fatalf("only %d lines: nothing was compared", len(lines))
	}
	return lines
}

func (m *migrations) admin(sql string) {
	m.t.Helper()
	ctx := context.Background()
	conn, err := pgx.Connect(ctx, m.db.DSN(localpg.Superuser))
	must(m.t, err)
	defer conn.Close(ctx)
	_, err = conn.Exec(ctx, sql)
	must(m.t, err)
}

// A process that migrates is killed at some of its operations; `make torture` has all.
// The next one comes out as if nothing had happened.
func TestMigrationKilled(t *testing.T) {
	t.Parallel()
	m := newMigrations(t)
	dice := rand.New(rand.NewPCG(2, 0))
	for range 4 {
		m.strike(1+dice.Int64N(80), phase(dice.IntN(3)))
	}
}
