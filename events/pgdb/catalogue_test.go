package pgdb_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
)

// noFirm lists the tables that hold nothing of any firm.
var noFirm = map[string]string{
	"schema_migrations": "the migration library's own row: a version number",
}

// strings1 returns the first column of a query.
func strings1(t *testing.T, conn *pgx.Conn, sql string, args ...any) []string {
	t.Helper()
	rows, err := conn.Query(t.Context(), sql, args...)
	if err != nil {
		t.Fatal(err)
	}
	list, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func tables(t *testing.T, conn *pgx.Conn) []string {
	t.Helper()
	all := strings1(t, conn, `
		SELECT c.relname FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
		WHERE n.nspname = 'public' AND c.relkind IN ('r', 'p', 'v', 'm', 'f') ORDER BY 1`)
	if len(all) < 10 {
		t.Fatalf("only %d tables: %q", len(all), all)
	}
	return slices.DeleteFunc(all, func(name string) bool { return noFirm[name] != "" })
}

// Every key begins with the firm: a key that did not could tell one firm that
// another has something.
func TestFirmFirstInEveryKey(t *testing.T) {
	conn := pgtest.New(t).Connect(pgdb.Owner)
	for _, table := range tables(t, conn) {
		keys := strings1(t, conn, `
			SELECT i.relname || ': ' || a.attname
			FROM pg_index x
			JOIN pg_class i ON i.oid = x.indexrelid
			JOIN pg_attribute a ON a.attrelid = x.indrelid AND a.attnum = x.indkey[0]
			WHERE x.indrelid = $1::regclass AND x.indisunique
			UNION ALL
			SELECT c.conname || ': ' || a.attname
			FROM pg_constraint c
			JOIN pg_attribute a ON a.attrelid = c.conrelid AND a.attnum = c.conkey[1]
			WHERE c.conrelid = $1::regclass AND c.contype = 'f'`, table)
		if len(keys) == 0 {
			t.Errorf("%s has no key", table)
		}
		for _, key := range keys {
			if !strings.HasSuffix(key, ": firm") {
				t.Errorf("%s: the key %s does not begin with the firm", table, key)
			}
		}
	}
}

// Row security is on and forced, and every policy says for which role it is.
func TestRowSecurity(t *testing.T) {
	conn := pgtest.New(t).Connect(pgdb.Owner)
	for _, table := range tables(t, conn) {
		var kind string
		var on, forced bool
		err := conn.QueryRow(t.Context(), `SELECT relkind::text, relrowsecurity, relforcerowsecurity FROM pg_class WHERE oid = $1::regclass`, table).Scan(&kind, &on, &forced)
		if err != nil {
			t.Fatal(err)
		}
		if kind != "r" {
			t.Errorf("%s is no plain table: row security does not hold there", table)
		}
		if !on || !forced {
			t.Errorf("%s: row security on %t, forced %t", table, on, forced)
		}
		if open := strings1(t, conn, `SELECT policyname::text FROM pg_policies WHERE tablename = $1 AND 'public' = ANY (roles)`, table); len(open) > 0 {
			t.Errorf("%s: the policies %q hold for everybody", table, open)
		}
		if app := strings1(t, conn, `SELECT qual FROM pg_policies WHERE tablename = $1 AND $2 = ANY (roles)`, table, pgdb.App); len(app) != 1 || !strings.Contains(app[0], "app.firm") {
			t.Errorf("%s: the server's policies are %q, want one that looks at app.firm", table, app)
		}
	}
}

// The worker looks over all firms, at ids alone.
func TestWorkerSeesNoContent(t *testing.T) {
	conn := pgtest.New(t).Connect(pgdb.Owner)
	granted := strings1(t, conn, `
		SELECT DISTINCT table_name || '.' || column_name FROM information_schema.column_privileges
		WHERE grantee = $1 ORDER BY 1`, pgdb.Worker)
	for _, column := range granted {
		if !strings.HasPrefix(column, "task.") && !slices.Contains([]string{"head.firm", "head.job", "head.seq"}, column) {
			t.Errorf("the worker may use %s", column)
		}
	}
	if len(granted) < 5 {
		t.Errorf("the worker may use %q only: is the query right?", granted)
	}
}

func TestRoles(t *testing.T) {
	conn := pgtest.New(t).Connect(pgdb.Owner)
	for _, role := range pgdb.Roles() {
		var super, bypass, create bool
		err := conn.QueryRow(t.Context(), `SELECT rolsuper, rolbypassrls, rolcreaterole OR rolcreatedb FROM pg_roles WHERE rolname = $1`, role).Scan(&super, &bypass, &create)
		if err != nil {
			t.Fatal(err)
		}
		if super || create || bypass != (role == pgdb.Backup) {
			t.Errorf("%s: superuser %t, may make roles or databases %t, passes by row security %t", role, super, create, bypass)
		}
	}
	if owned := strings1(t, conn, `SELECT tablename::text FROM pg_tables WHERE schemaname = 'public' AND tableowner <> $1`, pgdb.Owner); len(owned) > 0 {
		t.Errorf("%q belong to somebody else than the owner", owned)
	}
}
