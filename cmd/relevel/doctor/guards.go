package doctor

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"relevel/events/pgdb"
)

// guardChecks look whether the database holds what the program relies on: nobody
// rewrites the log, and no firm sees another.
func (v *visit) guardChecks() []Check {
	if v.Database.App == "" {
		return nil
	}
	return []Check{
		{"Guards", "roles", v.quietly(v.roles)},
		{"Guards", "schema public", v.quietly(v.creators)},
		{"Guards", "firms apart", v.quietly(v.rowSecurity)},
		{"Guards", "policies", v.quietly(v.policies)},
		{"Guards", "triggers", v.quietly(v.triggers)},
		{"Guards", "a try", v.quietly(v.tryAs(pgdb.App))},
		{"Guards", "a try", v.tryAsOwner},
	}
}

// role is one as the database has it.
type role struct {
	name                          string
	super, bypass, create, owners bool
}

func (v *visit) roles(ctx context.Context, db *pgxpool.Pool) (all []Finding) {
	rows, err := db.Query(ctx, `SELECT rolname, rolsuper, rolbypassrls, rolcreaterole OR rolcreatedb,
		rolname <> $2 AND pg_has_role(rolname, $2, 'MEMBER') FROM pg_roles WHERE rolname = ANY ($1) AND EXISTS (SELECT FROM pg_roles WHERE rolname = $2)`, pgdb.Roles(), pgdb.Owner)
	if err != nil {
		return failed(err)
	}
	there, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (r role, err error) {
		return r, row.Scan(&r.name, &r.super, &r.bypass, &r.create, &r.owners)
	})
	if err != nil {
		return failed(err)
	}
	for _, name := range pgdb.Roles() {
		at := slices.IndexFunc(there, func(r role) bool { return r.name == name })
		if at < 0 {
			all = append(all, wrong("the role %s is missing", name).cure("run relevel migrate --prepare")...)
			continue
		}
		all = append(all, there[at].faults()...)
	}
	if len(all) == 0 {
		return ok("%s have what they need and no more", strings.Join(pgdb.Roles(), ", "))
	}
	return all
}

// faults are the attributes that a role has or lacks against what rests on it.
func (r role) faults() (all []Finding) {
	wants := func(fault, attribute string) {
		all = append(all, wrong("%s %s", r.name, fault).cure("ALTER ROLE %s %s", r.name, attribute)...)
	}
	if r.super && r.name != pgdb.Backup {
		wants("is a superuser: nothing holds it back", "NOSUPERUSER")
	}
	switch {
	case r.name == pgdb.Backup && !r.bypass && !r.super:
		wants("does not see every firm, so a backup would be empty", "BYPASSRLS")
	case r.name != pgdb.Backup && r.bypass:
		wants("passes by row security, which keeps firms apart", "NOBYPASSRLS")
	}
	if r.create {
		wants("may make roles or databases", "NOCREATEROLE NOCREATEDB")
	}
	if r.owners && !r.super { // a superuser is a member of everything
		all = append(all, wrong("%s may act as %s, who may do anything to the tables", r.name, pgdb.Owner).cure("REVOKE %s FROM %s", pgdb.Owner, r.name)...)
	}
	return all
}

// creators are those who could put something of their own before ours.
func (v *visit) creators(ctx context.Context, db *pgxpool.Pool) []Finding {
	names, err := texts(ctx, db, `SELECT name FROM (
		SELECT rolname::text AS name FROM pg_roles WHERE rolname = ANY ($1) AND NOT rolsuper AND has_schema_privilege(rolname, 'public', 'CREATE')
		UNION SELECT 'everybody' FROM pg_namespace, aclexplode(nspacl) a WHERE nspname = 'public' AND a.grantee = 0 AND a.privilege_type = 'CREATE') x ORDER BY name`,
		[]string{pgdb.App, pgdb.Worker, pgdb.Eraser, pgdb.Backup})
	switch {
	case err != nil:
		return failed(err)
	case slices.Contains(names, "everybody"):
		return wrong("everybody may make tables and functions in it").cure("REVOKE CREATE ON SCHEMA public FROM PUBLIC")
	case len(names) > 0:
		return wrong("%s may make tables and functions in it", strings.Join(names, ", ")).cure("REVOKE CREATE ON SCHEMA public FROM %s", strings.Join(names, ", "))
	}
	return ok("only %s makes anything in it", pgdb.Owner)
}

// beforeTheFirm are the tables by whose hashes a firm is found: nobody is said to ask
// yet, and they hold nothing else.
var beforeTheFirm = []string{"pairing", "sign_in"}

// rowSecurity is the second fence between firms, on each table that has a firm.
func (v *visit) rowSecurity(ctx context.Context, db *pgxpool.Pool) []Finding {
	open, err := texts(ctx, db, `SELECT relname FROM pg_class JOIN pg_attribute ON attrelid = pg_class.oid AND attname = 'firm'
		WHERE relkind IN ('r', 'p') AND relnamespace = 'public'::regnamespace AND NOT (relrowsecurity AND relforcerowsecurity) AND relname <> ALL ($1) ORDER BY relname`, beforeTheFirm)
	switch {
	case err != nil:
		return failed(err)
	case len(open) > 0:
		return wrong("row security is off, or not forced, on %s", strings.Join(open, ", ")).
			cure("as %s: ALTER TABLE %s ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY", pgdb.Owner, open[0])
	}
	return ok("row security is on and forced on every table that has a firm")
}

// policies finds those that show the server more than one firm.
func (v *visit) policies(ctx context.Context, db *pgxpool.Pool) []Finding {
	wide, err := texts(ctx, db, `SELECT policyname || ' on ' || tablename FROM pg_policies JOIN pg_attribute ON attrelid = (schemaname || '.' || tablename)::regclass AND attname = 'firm'
		WHERE schemaname = 'public' AND roles && ARRAY['public', $1]::name[] AND permissive = 'PERMISSIVE' AND coalesce(qual, with_check) NOT LIKE '%app.firm%' ORDER BY 1`, pgdb.App)
	switch {
	case err != nil:
		return failed(err)
	case len(wide) > 0:
		return wrong("%s lets the server see every firm", strings.Join(wide, ", ")).cure("as %s: DROP POLICY %s", pgdb.Owner, wide[0])
	}
	return ok("each shows the server one firm at a time")
}

// triggers refuse a change also to the owner, and while rows come by replication.
func (v *visit) triggers(ctx context.Context, db *pgxpool.Pool) []Finding {
	standing, err := texts(ctx, db, `SELECT relname || ' ' || tgname FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid
		WHERE NOT tgisinternal AND tgenabled = 'A' AND relnamespace = 'public'::regnamespace`)
	if err != nil {
		return failed(err)
	}
	var gone []pgdb.Guard
	for _, g := range pgdb.Guards() {
		if !slices.Contains(standing, g.Table+" "+g.Trigger) {
			gone = append(gone, g)
		}
	}
	if len(gone) == 0 {
		return ok("%d stand before the rows that nobody may change", len(pgdb.Guards()))
	}
	return wrong("%s is off or gone: rows of %s could be changed", gone[0].Trigger, gone[0].Table).
		cure("as %s: ALTER TABLE %s ENABLE ALWAYS TRIGGER %s; if it is gone, restore it from a new database's schema, and check the jobs' checkpoints", pgdb.Owner, gone[0].Table, gone[0].Trigger)
}

// tryAs tries to rewrite the log, of no row, in a transaction that is rolled back.
func (v *visit) tryAs(who string) inspection {
	return func(ctx context.Context, db *pgxpool.Pool) []Finding {
		for _, statement := range []string{
			"UPDATE event SET kind = kind WHERE false", "DELETE FROM event WHERE false",
			"UPDATE event_bytes SET salt = salt WHERE false", "DELETE FROM event_bytes WHERE false",
			"UPDATE checkpoint SET note = note WHERE false", "DELETE FROM checkpoint WHERE false",
		} {
			refused, err := refuses(ctx, db, statement)
			if err != nil {
				return failed(err)
			}
			if !refused {
				return wrong("as %s the database takes %q", who, strings.TrimSuffix(statement, " WHERE false")).
					cure("see the lines above, and check every job's checkpoints: records could have been changed")
			}
		}
		return ok("as %s the log can be neither changed nor deleted", who)
	}
}

func (v *visit) tryAsOwner(ctx context.Context) []Finding {
	if v.Database.Owner == "" {
		return nil
	}
	db, err := v.open(ctx, v.Database.Owner)
	if err != nil || db.Ping(ctx) != nil {
		return nil
	}
	return v.tryAs(pgdb.Owner)(ctx, db.Pool())
}

// refuses reports whether a statement is not allowed. It is rolled back whatever it does.
func refuses(ctx context.Context, db *pgxpool.Pool, statement string) (bool, error) {
	tx, err := db.Begin(ctx)
	if err != nil {
		return false, err
	}
	defer tx.Rollback(context.WithoutCancel(ctx))
	_, err = tx.Exec(ctx, statement)
	switch code := pgdb.Code(err); {
	case err == nil:
		return false, nil
	case code == "42501": // insufficient_privilege, which the triggers raise, too
		return true, nil
	case code == "42P01": // no such table: the schema is behind, which is said elsewhere
		return true, nil
	}
	return false, fmt.Errorf("try to change the log: %w", err)
}

// texts reads one column.
func texts(ctx context.Context, db *pgxpool.Pool, sql string, args ...any) ([]string, error) {
	rows, err := db.Query(ctx, sql, args...)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowTo[string])
}
