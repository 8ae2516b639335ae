package pgdb_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// besides are the files that reach the database otherwise than through the functions of
// a DB, which repeat what loses against another transaction, each with the reason why
// nothing that a request waits for is left to chance there.
var besides = map[string]string{
	"events/pgdb/firm.go":      "begins transactions, for WithFirm to repeat",
	"events/pgdb/repeat.go":    "repeats them",
	"events/pgdb/pgdb.go":      "opens the pool",
	"events/pgdb/connect.go":   "opens one connection, for those below",
	"events/pgdb/migrate.go":   "the migrations of golang-migrate, one at a time under a lock; relevel migrate may be run again",
	"events/pgdb/roles.go":     "makes roles and databases for whoever installs; it may be run again",
	"events/pgdb/passwords.go": "likewise, under the lock of migrations",

	"events/pgdb/pgtest/cluster.go":    "databases of tests",
	"events/pgdb/pgtest/private.go":    "likewise",
	"events/pgdb/pgtest/pgtest.go":     "likewise",
	"events/pgdb/pgtest/replicated.go": "likewise",
	"events/pgaudit/pgaudit.go":        "one look at a whole database, read only and too long to begin anew; relevel audit may be run again",
	"deploy/backups/source.go":         "a stream of rows out of one state of the database; relevel backup may be run again",
	"deploy/backups/base.go":           "asks a server about itself",
	"deploy/backups/restore.go":        "alone on a database that nobody works on",
	"deploy/backups/local.go":          "likewise",
	"deploy/backups/follow.go":         "settings and slots of a server, which are no transactions",
	"server/pgbell/pgbell.go":          "listens on a connection of its own, and again where that ends",
	"server/tracing/sql.go":            "is told of statements and sends none",
	"server/metrics/pool.go":           "figures of pools",
	"cmd/relevel/private.go":           "likewise",
	"cmd/relevel/doctor/database.go":   "looks over a server and says what it was answered; relevel doctor may be run again",
	"cmd/relevel/doctor/guards.go":     "likewise, and tries what has to be refused",
	"cmd/relevel/doctor/records.go":    "likewise",
}

// A transaction that is begun past the functions that repeat it would be answered 503
// where it loses: whatever takes a connection for itself stands in the list above.
func TestNobodyElseBegins(t *testing.T) {
	t.Parallel()
	found := map[string][]string{}
	goFiles(t, func(name, text string) {
		if ways := waysIn(t, name, text); len(ways) > 0 {
			found[name] = ways
		}
	})
	for name, ways := range found {
		if besides[name] == "" {
			t.Errorf("%s has %s: send it through WithFirm, Write, Read, BeforeFirm or OverFirms, or say in the list why not", name, strings.Join(ways, ", "))
		}
	}
	for name := range besides {
		if len(found[name]) == 0 {
			t.Errorf("%s is in the list and reaches no database by itself", name)
		}
	}
}

// waysIn are what a file says that leads to a connection of its own.
func waysIn(t *testing.T, name, text string) (ways []string) {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), name, text, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	packages := map[string]string{}
	for _, one := range file.Imports {
		from, _ := strconv.Unquote(one.Path.Value)
		as := path.Base(strings.TrimSuffix(from, "/v5"))
		if one.Name != nil {
			as = one.Name.Name
		}
		packages[as] = from
		if from == "database/sql" || strings.HasPrefix(from, "github.com/golang-migrate/") || strings.HasSuffix(from, "/pgx/v5/stdlib") {
			ways = append(ways, from)
		}
	}
	ast.Inspect(file, func(n ast.Node) bool {
		if s, is := n.(*ast.SelectorExpr); is && leads(s, packages) {
			x, _ := s.X.(*ast.Ident)
			if x == nil {
				x = &ast.Ident{}
			}
			ways = append(ways, x.Name+"."+s.Sel.Name)
		}
		return true
	})
	slices.Sort(ways)
	return slices.Compact(ways)
}

// leads reports whether a name leads to a connection: as one of the driver's, or as the
// method of a DB that gives one. Without a connection nothing can be begun.
func leads(s *ast.SelectorExpr, packages map[string]string) bool {
	name := s.Sel.Name
	if x, is := s.X.(*ast.Ident); is && packages[x.Name] != "" {
		switch packages[x.Name] {
		case "github.com/jackc/pgx/v5", "github.com/jackc/pgx/v5/pgconn":
			return strings.HasPrefix(name, "Connect") && name != "ConnectError" || strings.HasPrefix(name, "Begin") || name == "Conn" || name == "PgConn"
		case "github.com/jackc/pgx/v5/pgxpool":
			return true
		case "relevel/events/pgdb":
			return name == "Connect"
		}
		return false
	}
	return name == "Pool"
}

// What leads to a connection is found, however it is written.
func TestWaysIn(t *testing.T) {
	t.Parallel()
	for text, want := range map[string][]string{
		`import "github.com/jackc/pgx/v5"; var _ = pgx.ConnectConfig`:                    {"pgx.ConnectConfig"},
		`import p "github.com/jackc/pgx/v5"; func f(c *p.Conn) {}`:                       {"p.Conn"},
		`import "github.com/jackc/pgx/v5"; func f(tx pgx.Tx) { tx.Exec() }`:              nil,
		`import "github.com/jackc/pgx/v5/pgxpool"; func f(p *pgxpool.Pool) {}`:           {"pgxpool.Pool"},
		`func f() { s.db.Pool().Exec() }`:                                                {".Pool"},
		`func f() { db.Pool() }`:                                                         {"db.Pool"},
		`import "relevel/server/watch"; func f() { watch.Begin() }`:                      nil,
		`import "database/sql"`:                                                          {"database/sql"},
		`import "github.com/jackc/pgx/v5/pgconn"; var _ *pgconn.ConnectError`:            nil,
		`import "relevel/events/pgdb"; func f() { pgdb.Connect() }`:                      {"pgdb.Connect"},
		`import "relevel/events/pgdb"; func f(db *pgdb.DB) { db.WithFirm(); db.Read() }`: nil,
	} {
		if diff := cmp.Diff(want, waysIn(t, "one.go", "package one; "+text)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", text, diff)
		}
	}
}
