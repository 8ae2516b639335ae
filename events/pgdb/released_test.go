package pgdb_test

import (
	"io/fs"
	"testing"

	"relevel/events/pgdb"
	"relevel/levelling/frozentest"
)

// A migration that was released has run in databases elsewhere: it stays as it is,
// and what it lacks is done by one after it.
func TestReleasedMigrations(t *testing.T) {
	names, err := fs.Glob(pgdb.Migrations(), "migrations/*.sql")
	if err != nil || len(names) == 0 {
		t.Fatalf("no migrations: %v", err)
	}
	now := map[string]string{}
	for _, name := range names {
		text, err := fs.ReadFile(pgdb.Migrations(), name)
		if err != nil {
			t.Fatal(err)
		}
		now[name] = frozentest.Digest(text)
	}
	frozentest.Hold(t, "testdata/released", now)
}
