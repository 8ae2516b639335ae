package pgdb_test

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/golang-migrate/migrate/v4"
	migratepgx "github.com/golang-migrate/migrate/v4/database/pgx/v5"
	"github.com/golang-migrate/migrate/v4/source/iofs"
	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"

	"relevel/events/eventstest"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
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

// The schema goes down to nothing and comes up again as it was, keys, policies,
// grants and triggers included.
func TestDownAndUp(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	before := schema(t, db)
	if err := migrator(t, db).Down(); err != nil {
		t.Fatal(err)
	}
	left := slices.DeleteFunc(schema(t, db), func(line string) bool { return strings.Contains(line, "schema_migrations") })
	if len(left) > 0 {
		t.Errorf("left after going down: %q", left)
	}
	if err := pgdb.Migrate(t.Context(), db.DSN(pgdb.Owner)); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(before, schema(t, db)); diff != "" {
		t.Errorf("another schema after going down and up (-before +after):\n%s", diff)
	}
}

// schema lists all there is in a database, a line each.
func schema(t *testing.T, db *pgtest.DB) []string {
	t.Helper()
	return strings1(t, db.Connect(pgdb.Owner), `
		SELECT format('column %s.%s %s %s %s', table_name, column_name, data_type, is_nullable, column_default)
			FROM information_schema.columns WHERE table_schema = 'public'
		UNION ALL SELECT format('table %s security %s %s %s', relname, relrowsecurity, relforcerowsecurity, reloptions)
			FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind <> 'i'
		UNION ALL SELECT indexdef FROM pg_indexes WHERE schemaname = 'public'
		UNION ALL SELECT format('constraint %s.%s %s', conrelid::regclass, conname, pg_get_constraintdef(oid))
			FROM pg_constraint WHERE connamespace = 'public'::regnamespace
		UNION ALL SELECT format('policy %s.%s %s %s %s %s', tablename, policyname, roles, cmd, qual, with_check) FROM pg_policies
		UNION ALL SELECT format('trigger %s %s', tgenabled, pg_get_triggerdef(oid)) FROM pg_trigger WHERE NOT tgisinternal
		UNION ALL SELECT pg_get_functiondef(oid) FROM pg_proc WHERE pronamespace = 'public'::regnamespace
		UNION ALL SELECT format('grant %s.%s %s %s', table_name, column_name, grantee, privilege_type)
			FROM information_schema.column_privileges WHERE grantee <> 'PUBLIC' AND table_schema = 'public'
		UNION ALL SELECT format('default grant %s', defaclacl) FROM pg_default_acl
		ORDER BY 1`)
}

// A database whose log holds an event goes down by no step, and loses nothing by
// the attempt. The error says how to take off the mark that it leaves.
func TestNoWayDownFromALog(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	owner := db.Connect(pgdb.Owner)
	addEvent(t, db)
	before := schema(t, db)
	err := migrator(t, db).Down()
	if err == nil || !strings.Contains(err.Error(), "the log holds events") || !strings.Contains(err.Error(), fmt.Sprintf("set schema_migrations to version %d, not dirty", pgdb.Latest())) {
		t.Fatalf("%v, want it refused", err)
	}
	if _, err := owner.Exec(t.Context(), `UPDATE schema_migrations SET version = $1, dirty = false`, pgdb.Latest()); err != nil {
		t.Fatal(err)
	}
	if err := db.App.CheckSchema(t.Context()); err != nil {
		t.Error(err)
	}
	if diff := cmp.Diff(before, schema(t, db)); diff != "" {
		t.Errorf("the schema changed (-before +after):\n%s", diff)
	}
	if n := strings1(t, owner, `SELECT count(*)::text FROM event JOIN event_bytes USING (firm, job, seq)`); n[0] != "1" {
		t.Errorf("%s events are left", n[0])
	}

	// Every step refuses by itself, also where those above it are gone.
	for _, gone := range []struct{ drop, version string }{
		{`DROP TABLE attempt`, "16"},
		{`ALTER TABLE firm DROP COLUMN phone, DROP COLUMN mail`, "15"},
		{`DROP POLICY eraser_firm ON photo`, "14"},
		{`DROP TABLE pack`, "13"},
		{`DROP TABLE share_visit, share`, "12"},
		{`DROP TABLE checkpoint, checkpoint_fault, firm_leaf, firm_checkpoint, public_key`, "11"},
		{`DROP TABLE book_read, book_word, book_text, quarantine_decision`, "10"},
		{`DROP TABLE hook, hook_told, hook_delivery`, "9"},
		{`DROP TABLE calendar, diary, job_closing`, "8"},
		{`DROP TABLE trail, session, invitation, passkey, account, challenge, sign_in`, "7"},
		{`DROP TABLE phone`, "6"},
		{`DROP TABLE pairing`, "5"},
		{`DROP TABLE jack, laser, practice`, "4"},
		{`DROP TABLE tolerance_profile`, "3"},
		{`DROP TABLE task, photo, job_summary, job`, "2"},
	} {
		if _, err := owner.Exec(t.Context(), gone.drop+`; UPDATE schema_migrations SET dirty = false, version = `+gone.version); err != nil {
			t.Fatal(err)
		}
		if err := migrator(t, db).Down(); err == nil || !strings.Contains(err.Error(), "set schema_migrations to version "+gone.version+", not dirty") {
			t.Errorf("%v, want version %s to refuse too", err, gone.version)
		}
	}
}

// What a firm calls level enough is nowhere else: it is not dropped either.
func TestNoWayDownFromAProfile(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	firm := eventstest.NewFirm(t)
	if err := addFirm(t.Context(), db.App, firm, firm); err != nil {
		t.Fatal(err)
	}
	_, err := firmConn(t, db, firm, pgdb.App).Exec(t.Context(), `
		INSERT INTO tolerance_profile (firm, id, name, title, limits, created_at)
		VALUES ($1, $1, 'old-house', 'Old houses', '[{"kind": "range", "limit_mm": 20}]', now())`, firm.String())
	if err != nil {
		t.Fatal(err)
	}
	if err := migrator(t, db).Migrate(3); err == nil || !strings.Contains(err.Error(), "a firm keeps profiles of its own") {
		t.Errorf("%v, want it refused", err)
	}
	if n := strings1(t, db.Connect(pgdb.Owner), `SELECT count(*)::text FROM tolerance_profile`); n[0] != "1" {
		t.Errorf("%s profiles are left", n[0])
	}
}

// Neither is its kit, nor how it goes about lifting.
func TestNoWayDownFromKit(t *testing.T) {
	t.Parallel()
	for _, table := range []string{`jack (firm, id, name, body, created_at) VALUES ($1, $1, 'bottle 1', '{}', now())`, `laser (firm, id, name, body, created_at) VALUES ($1, $1, 'green', '{}', now())`, `practice (firm, id, body, created_at) VALUES ($1, $1, '{}', now())`} {
		db := pgtest.New(t)
		firm := eventstest.NewFirm(t)
		if err := addFirm(t.Context(), db.App, firm, firm); err != nil {
			t.Fatal(err)
		}
		if _, err := firmConn(t, db, firm, pgdb.App).Exec(t.Context(), `INSERT INTO `+table, firm.String()); err != nil {
			t.Fatal(err)
		}
		if err := migrator(t, db).Migrate(4); err == nil || !strings.Contains(err.Error(), "a firm keeps jacks, lasers or a practice of its own") {
			t.Errorf("%v, want it refused", err)
		}
	}
}

// Nor are its people's accounts.
func TestNoWayDownFromAnAccount(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	firm := eventstest.NewFirm(t)
	if err := addFirm(t.Context(), db.App, firm, firm); err != nil {
		t.Fatal(err)
	}
	for _, statement := range []string{
		`INSERT INTO person (firm, id, name, role, created_at) VALUES ($1, $1, 'Ari', 'office', now())`,
		`INSERT INTO account (firm, person, name, name_hash, created_at) VALUES ($1, $1, 'ari@example.com', '\x00', now())`,
	} {
		if _, err := firmConn(t, db, firm, pgdb.App).Exec(t.Context(), statement, firm.String()); err != nil {
			t.Fatal(err)
		}
	}
	if err := migrator(t, db).Migrate(7); err == nil || !strings.Contains(err.Error(), "people have accounts") {
		t.Errorf("%v, want it refused", err)
	}
}

// Several that migrate at once: all end well, and one did the work.
func TestMigrateAtOnce(t *testing.T) {
	t.Parallel()
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
	t.Parallel()
	db := pgtest.New(t)
	owner := db.Connect(pgdb.Owner)
	for _, tt := range []struct {
		name, statement, words string
	}{
		{"OK", `SELECT 1`, ""},
		{"Newer", `UPDATE schema_migrations SET version = 9999`, ""},
		{"Behind", `UPDATE schema_migrations SET version = 1`, "run relevel migrate"},
		{"Unfinished", `UPDATE schema_migrations SET dirty = true`, "did not finish: run relevel migrate"},
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

// A server must not work as a role that sees every firm.
func TestCheckSchemaRefusesRolesThatSeeAll(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	for _, role := range []string{localpg.Superuser, pgdb.Owner, pgdb.Backup} {
		if err := db.Open(role).CheckSchema(t.Context()); err == nil || !strings.Contains(err.Error(), "connect as "+pgdb.App) {
			t.Errorf("%s: %v", role, err)
		}
	}
}

// Somebody holds the lock: the wait ends with the caller's patience.
func TestMigrateWaitsWithPatience(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	if _, err := db.Connect(pgdb.Owner).Exec(t.Context(), `SELECT pg_advisory_lock(x'72656c6576656c'::bit(56)::bigint)`); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Second)
	defer cancel()
	err := pgdb.Migrate(ctx, db.DSN(pgdb.Owner))
	if !errors.Is(err, context.DeadlineExceeded) || !strings.Contains(err.Error(), "another process is migrating") {
		t.Errorf("%v, want the end of patience", err)
	}
}

// Somebody holds a table that a migration needs: an error soon and in few
// words, and nothing done by half. The next call does the work.
func TestMigrateAgainAfterAFailure(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	whole := schema(t, db)
	if err := migrator(t, db).Migrate(10); err != nil { // the next step alters a table of firms
		t.Fatal(err)
	}
	holder, err := db.Connect(localpg.Superuser).Begin(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := holder.Exec(t.Context(), `LOCK TABLE firm, api_token, job`); err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	err = pgdb.Migrate(t.Context(), with(db.DSN(pgdb.Owner), "lock_timeout=300ms"))
	if pgdb.Code(err) != "55P03" || strings.Contains(err.Error(), "CREATE TABLE") {
		t.Errorf("%v, want it to say that a lock was not to be had", err)
	}
	if took := time.Since(began); took > 5*time.Second {
		t.Errorf("it took %s", took)
	}
	if err := db.App.CheckSchema(t.Context()); err == nil || !strings.Contains(err.Error(), "run relevel migrate") {
		t.Errorf("the schema is %v, want it to wait for a migration", err)
	}
	if err := holder.Rollback(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := pgdb.Migrate(t.Context(), db.DSN(pgdb.Owner)); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(whole, schema(t, db)); diff != "" {
		t.Errorf("another schema than at once (-at once +after a failure):\n%s", diff)
	}
}

// The first migration was marked as begun, and its process ended there.
func TestMigrateAfterAKill(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	if err := migrator(t, db).Down(); err != nil {
		t.Fatal(err)
	}
	owner := db.Connect(pgdb.Owner)
	for version := 1; version <= pgdb.Latest(); version++ {
		if _, err := owner.Exec(t.Context(), `TRUNCATE schema_migrations`); err != nil {
			t.Fatal(err)
		}
		if _, err := owner.Exec(t.Context(), `INSERT INTO schema_migrations (version, dirty) VALUES ($1, true)`, version); err != nil {
			t.Fatal(err)
		}
		if err := pgdb.Migrate(t.Context(), db.DSN(pgdb.Owner)); err != nil {
			t.Fatalf("killed at version %d: %v", version, err)
		}
		if err := migrator(t, db).Migrate(uint(version)); err != nil && !errors.Is(err, migrate.ErrNoChange) {
			t.Fatal(err)
		}
	}
}

// An older program leaves a newer schema alone, finished or not.
func TestMigrateNewer(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	owner := db.Connect(pgdb.Owner)
	for _, unfinished := range []bool{false, true} {
		if _, err := owner.Exec(t.Context(), `UPDATE schema_migrations SET version = 9999, dirty = $1`, unfinished); err != nil {
			t.Fatal(err)
		}
		if err := pgdb.Migrate(t.Context(), db.DSN(pgdb.Owner)); err != nil {
			t.Error(err)
		}
		if version, still, err := db.App.Version(t.Context()); version != 9999 || still != unfinished || err != nil {
			t.Errorf("version %d, unfinished %t, %v", version, still, err)
		}
	}
}

// Each migration takes off its mark in its own transaction, which nothing in it
// may end: Migrate counts on that.
func TestMigrationsAreWhole(t *testing.T) {
	t.Parallel()
	for path, text := range migrationFiles(t) {
		if !strings.HasSuffix(path, ".up.sql") {
			continue
		}
		if !strings.HasSuffix(strings.TrimSpace(text), "UPDATE schema_migrations SET dirty = false;") {
			t.Errorf("%s does not take off its mark at the end", path)
		}
		for _, word := range []string{"COMMIT;", "ROLLBACK;", "CONCURRENTLY", "VACUUM"} {
			if strings.Contains(strings.ToUpper(text), word) {
				t.Errorf("%s holds %s: it is no longer one transaction", path, word)
			}
		}
	}
}

func migrationFiles(t *testing.T) map[string]string {
	t.Helper()
	files := map[string]string{}
	err := fs.WalkDir(pgdb.Migrations(), ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := fs.ReadFile(pgdb.Migrations(), path)
		files[path] = string(text)
		return err
	})
	if err != nil || pgdb.Latest() < 3 || len(files) < 6 {
		t.Fatalf("%d migrations, %v", pgdb.Latest(), err)
	}
	return files
}

// Each migration can be taken back: an up without a down is a mistake.
func TestEveryMigrationHasADown(t *testing.T) {
	t.Parallel()
	files := migrationFiles(t)
	for path := range files {
		if up, is := strings.CutSuffix(path, ".up.sql"); is && files[up+".down.sql"] == "" {
			t.Errorf("%s has no way back", path)
		}
	}
}

// On a server that has nothing: several make the roles at once, and again, then
// the database, its schema and the first row.
func TestFromNothing(t *testing.T) {
	t.Parallel()
	s := bareServer(t)
	admin := s.DSN(localpg.Superuser, "postgres")
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			if err := pgdb.EnsureRoles(t.Context(), admin); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	for range 2 {
		err := errors.Join(
			pgdb.EnsureRoles(t.Context(), admin),
			pgdb.EnsureDatabase(t.Context(), admin, "relevel"),
			pgdb.Migrate(t.Context(), s.DSN(pgdb.Owner, "relevel")))
		if err != nil {
			t.Fatal(err)
		}
	}
	db, err := pgdb.Open(t.Context(), s.DSN(pgdb.App, "relevel"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if err := db.CheckSchema(t.Context()); err != nil {
		t.Error(err)
	}
	firm := eventstest.NewFirm(t)
	if err := addFirm(t.Context(), db, firm, firm); err != nil {
		t.Error(err)
	}
}

// bareServer is a server as initdb leaves it.
func bareServer(t *testing.T) *localpg.Server {
	t.Helper()
	folder, err := os.MkdirTemp("", "pgdb-test-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(folder) })
	if err := os.Chmod(folder, 0o755); err != nil { // for the account Postgres runs as
		t.Fatal(err)
	}
	s, err := localpg.Start(t.Context(), localpg.Config{Dir: filepath.Join(folder, "postgres"), Roles: pgdb.Roles(), Scratch: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Stop(); err != nil {
			t.Error(err)
		}
	})
	return s
}
