package pgdb_test

import (
	"context"
	"errors"
	"io/fs"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/golang-migrate/migrate/v4"
	migratepgx "github.com/golang-migrate/migrate/v4/database/pgx/v5"
	"github.com/golang-migrate/migrate/v4/source/iofs"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"

	"relevel/deploy/localpg"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
)

// migrator steps through the migrations of a test's database.
func migrator(t *testing.T, db *pgtest.DB) *migrate.Migrate {
	t.Helper()
	config, err := pgx.ParseConfig(db.DSN(pgdb.Owner))
	if err != nil {
		t.Fatal(err)
	}
	source, err := iofs.New(pgdb.Migrations(), "migrations")
	if err != nil {
		t.Fatal(err)
	}
	driver, err := migratepgx.WithInstance(stdlib.OpenDB(*config), &migratepgx.Config{})
	if err != nil {
		t.Fatal(err)
	}
	m, err := migrate.NewWithInstance("embedded", source, "postgres", driver)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { m.Close() })
	return m
}

// The schema goes down to nothing and comes up again as it was.
func TestDownAndUp(t *testing.T) {
	db := pgtest.New(t)
	before := columns(t, db)
	m := migrator(t, db)
	if err := m.Down(); err != nil {
		t.Fatal(err)
	}
	if left := columns(t, db); strings.Contains(left, "event.") {
		t.Errorf("left after going down: %s", left)
	}
	if err := pgdb.Migrate(t.Context(), db.DSN(pgdb.Owner)); err != nil {
		t.Fatal(err)
	}
	if after := columns(t, db); after != before {
		t.Errorf("another schema after going down and up:\n%s\n%s", before, after)
	}
}

func columns(t *testing.T, db *pgtest.DB) string {
	t.Helper()
	return strings.Join(strings1(t, db.Connect(pgdb.Owner), `
		SELECT table_name || '.' || column_name || ' ' || data_type FROM information_schema.columns
		WHERE table_schema = 'public' ORDER BY 1`), "\n")
}

// Several that migrate at once: all end well, and one did the work.
func TestMigrateAtOnce(t *testing.T) {
	db := pgtest.New(t)
	if err := migrator(t, db).Down(); err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			if err := pgdb.Migrate(t.Context(), db.DSN(pgdb.Owner)); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if err := db.App.CheckSchema(t.Context()); err != nil {
		t.Error(err)
	}
}

func TestCheckSchema(t *testing.T) {
	db := pgtest.New(t)
	owner := db.Connect(pgdb.Owner)
	for _, tt := range []struct {
		name, statement, words string
	}{
		{"OK", `SELECT 1`, ""},
		{"Newer", `UPDATE schema_migrations SET version = 9999`, ""},
		{"Behind", `UPDATE schema_migrations SET version = 1`, "run relevel migrate"},
		{"Unfinished", `UPDATE schema_migrations SET dirty = true`, "did not finish"},
		{"None", `DELETE FROM schema_migrations`, "schema version 0"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if _, err := owner.Exec(t.Context(), tt.statement); err != nil {
				t.Fatal(err)
			}
			err := db.App.CheckSchema(t.Context())
			if tt.words == "" && err != nil || tt.words != "" && (err == nil || !strings.Contains(err.Error(), tt.words)) {
				t.Errorf("%v, want %q", err, tt.words)
			}
		})
	}
}

// Somebody holds the lock: the wait ends with the caller's patience.
func TestMigrateWaitsWithPatience(t *testing.T) {
	db := pgtest.New(t)
	if _, err := db.Connect(pgdb.Owner).Exec(t.Context(), `SELECT pg_advisory_lock(x'72656c6576656c'::bit(56)::bigint)`); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 300*time.Millisecond)
	defer cancel()
	if err := pgdb.Migrate(ctx, db.DSN(pgdb.Owner)); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("%v, want the end of patience", err)
	}
}

// Each migration can be taken back: an up without a down is a mistake.
func TestEveryMigrationHasADown(t *testing.T) {
	files := map[string]bool{}
	err := fs.WalkDir(pgdb.Migrations(), ".", func(path string, d fs.DirEntry, err error) error {
		files[path] = !d.IsDir()
		return err
	})
	if err != nil || pgdb.Latest() < 3 {
		t.Fatalf("%d migrations, %v", pgdb.Latest(), err)
	}
	for path := range files {
		if up, is := strings.CutSuffix(path, ".up.sql"); is && !files[up+".down.sql"] {
			t.Errorf("%s has no way back", path)
		}
	}
}

func TestEnsureRolesAgain(t *testing.T) {
	db := pgtest.New(t)
	for range 2 {
		if err := pgdb.EnsureRoles(t.Context(), db.DSN(localpg.Superuser)); err != nil {
			t.Fatal(err)
		}
	}
}
