package pgdb

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strconv"
	"strings"
	"time"

	"github.com/golang-migrate/migrate/v4"
	"github.com/golang-migrate/migrate/v4/database"
	migratepgx "github.com/golang-migrate/migrate/v4/database/pgx/v5"
	"github.com/golang-migrate/migrate/v4/source/iofs"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
)

//go:embed migrations/*.sql
var migrations embed.FS

const (
	// migrateLock is the advisory lock held while migrating. The number only
	// has to differ from other locks in the same database.
	migrateLock = 0x72656c6576656c // "relevel"
	// lockPatience is how long to wait for another one that migrates.
	lockPatience = 30 * time.Second
)

// Migrate brings the schema to the newest version, as the owner role. Several
// may start at once: one works, the others wait for it, up to 30 s. A wait for
// a table that somebody holds ends in an error after 5 s, if the DSN says no
// other lock_timeout; the schema is then as it was before the step that failed, and Migrate may be called again. A
// schema that is newer already stays as it is.
func Migrate(ctx context.Context, ownerDSN string) error {
	config, err := pgx.ParseConfig(ownerDSN)
	if err != nil {
		return fmt.Errorf("read the database address: %w", err)
	}
	if _, given := config.RuntimeParams["lock_timeout"]; !given {
		config.RuntimeParams["lock_timeout"] = "5s"
	}
	config.RuntimeParams["application_name"] = "relevel migrate"
	db := stdlib.OpenDB(*config)
	defer db.Close()

	unlock, err := lockMigrations(ctx, db)
	if err != nil {
		return err
	}
	defer unlock()
	return migrateUp(ctx, db)
}

// lockMigrations comes before the migration library, whose own wait for its
// lock has no end.
func lockMigrations(ctx context.Context, db *sql.DB) (unlock func(), err error) {
	ctx, cancel := context.WithTimeout(ctx, lockPatience)
	defer cancel()
	conn, err := db.Conn(ctx)
	if err != nil {
		return nil, fmt.Errorf("connect to migrate: %w", err)
	}
	for held := false; ; held = true {
		var locked bool
		if err := conn.QueryRowContext(ctx, `SELECT pg_try_advisory_lock($1)`, migrateLock).Scan(&locked); err != nil {
			conn.Close()
			if held && ctx.Err() != nil { // patience ended while it was asked once more
				return nil, fmt.Errorf("another process is migrating this database: %w", ctx.Err())
			}
			return nil, fmt.Errorf("lock the schema for migrating: %w", err)
		}
		if locked {
			return func() { conn.Close() }, nil // the lock goes with the session
		}
		select {
		case <-ctx.Done():
			conn.Close()
			return nil, fmt.Errorf("another process is migrating this database: %w", ctx.Err())
		case <-time.After(50 * time.Millisecond):
		}
	}
}

func migrateUp(ctx context.Context, db *sql.DB) error {
	source, err := iofs.New(migrations, "migrations")
	if err != nil {
		return fmt.Errorf("read the migrations: %w", err)
	}
	driver, err := migratepgx.WithInstance(db, &migratepgx.Config{})
	if err != nil {
		return fmt.Errorf("prepare to migrate: %w", err)
	}
	m, err := migrate.NewWithInstance("embedded", source, "postgres", driver)
	if err != nil {
		return fmt.Errorf("prepare to migrate: %w", err)
	}
	defer m.Close()
	// A migration under way is finished; the next one is not begun.
	defer context.AfterFunc(ctx, func() { m.GracefulStop <- true })()
	if newer, err := setBack(m); newer || err != nil {
		return err
	}
	if err := m.Up(); err != nil && !errors.Is(err, migrate.ErrNoChange) {
		return fmt.Errorf("migrate: %w", withoutStatements(err))
	}
	return ctx.Err()
}

// withoutStatements leaves out the text of the whole migration, which the
// library puts into its error.
func withoutStatements(err error) error {
	var failed database.Error
	if errors.As(err, &failed) && failed.OrigErr != nil {
		return fmt.Errorf("at line %d: %w", failed.Line, failed.OrigErr)
	}
	return err
}

// setBack prepares to run a migration again that ended half way, by an error
// or with its process. Each one runs as one transaction and takes off its mark
// at the end of that, so a mark that is left means that nothing of it is there.
// A schema newer than this program is somebody else's to finish.
func setBack(m *migrate.Migrate) (newer bool, err error) {
	version, unfinished, err := m.Version()
	switch {
	case errors.Is(err, migrate.ErrNilVersion):
		return false, nil
	case err != nil:
		return false, fmt.Errorf("read the schema version: %w", err)
	case int(version) > Latest() || !unfinished:
		return int(version) > Latest(), nil
	}
	before := int(version) - 1
	if before == 0 {
		before = database.NilVersion
	}
	if err := m.Force(before); err != nil {
		return false, fmt.Errorf("set the schema version back to %d: %w", version-1, err)
	}
	return false, nil
}

// Latest is the newest schema version this program knows, and the oldest it
// can work on.
func Latest() int {
	entries, err := fs.ReadDir(migrations, "migrations")
	if err != nil {
		panic("the embedded migrations cannot be read: " + err.Error())
	}
	latest := 0
	for _, e := range entries {
		digits, _, _ := strings.Cut(path.Base(e.Name()), "_")
		if n, err := strconv.Atoi(digits); err == nil {
			latest = max(latest, n)
		}
	}
	return latest
}

// Version returns the schema version of the database, 0 if it has none.
// Unfinished means that a migration failed half way and wants looking after.
func (d *DB) Version(ctx context.Context) (version int, unfinished bool, err error) {
	err = d.lookUp(ctx, []any{&version, &unfinished}, `SELECT version, dirty FROM schema_migrations LIMIT 1`)
	switch {
	case err == nil:
		return version, unfinished, nil
	case errors.Is(err, pgx.ErrNoRows), Code(err) == undefinedTable:
		return 0, false, nil
	default:
		return 0, false, fmt.Errorf("read the schema version: %w", err)
	}
}

// CheckSchema reports, in words for whoever runs the server, why it cannot
// work on this database with this role. A newer schema is fine: a migration keeps the version
// before it working, so that servers can be replaced one by one.
func (d *DB) CheckSchema(ctx context.Context) error {
	version, unfinished, err := d.Version(ctx)
	switch {
	case err != nil:
		return err
	case unfinished:
		return fmt.Errorf("migration %d of the database did not finish: run relevel migrate again", version)
	case version < Latest():
		return fmt.Errorf("the database is at schema version %d and this program needs %d: run relevel migrate", version, Latest())
	}
	return d.checkRole(ctx)
}

// checkRole refuses a role that row security does not hold: with one, a query
// that forgot its firm would show another's rows, and nobody would know.
func (d *DB) checkRole(ctx context.Context) error {
	var role string
	var free bool
	err := d.lookUp(ctx, []any{&role, &free},
		`SELECT rolname, rolsuper OR rolbypassrls OR rolname = $1 FROM pg_roles WHERE rolname = current_user`, Owner)
	switch {
	case err != nil:
		return fmt.Errorf("look at the role of the server: %w", err)
	case free:
		return fmt.Errorf("the role %s passes by row security, which keeps firms apart: connect as %s", role, App)
	}
	return nil
}

// Migrations are the files of the schema, for whoever keeps copies by version.
func Migrations() fs.FS { return migrations }
