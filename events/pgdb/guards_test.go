package pgdb_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
)

// What is read from the migrations is what they make.
func TestGuards(t *testing.T) {
	t.Parallel()
	rows, err := pgtest.New(t).Connect(pgdb.Owner).Query(t.Context(),
		`SELECT relname, tgname FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid WHERE NOT tgisinternal ORDER BY relname::text COLLATE "C", tgname::text COLLATE "C"`)
	if err != nil {
		t.Fatal(err)
	}
	made, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (g pgdb.Guard, err error) { return g, row.Scan(&g.Table, &g.Trigger) })
	if err != nil || len(made) == 0 {
		t.Fatalf("%d triggers, %v", len(made), err)
	}
	if diff := cmp.Diff(made, pgdb.Guards()); diff != "" {
		t.Errorf("-made +read:\n%s", diff)
	}
}
