package pgdb_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"

	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/pgdb/pgtest"
)

// noFirm lists the tables that hold nothing of any firm.
var noFirm = map[string]string{
	"schema_migrations": "the migration library's own row: a version number",
	"pairing":           "hashes that lead a device to its firm, before it knows of one",
	"sign_in":           "hashes that lead a sign-in name to firms, before one is known, and the salt of its passwords",
	"public_key":        "the keys by which anybody checks what the servers signed",
	"attempt":           "hashes of what was tried to sign in or to open, before it is known by whom: it names nobody",
	"challenge":         "what browsers are asked to have signed, before it is known by whom: it names nobody",
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

// tables lists what holds rows, the excused left out.
func tables(t *testing.T, conn *pgx.Conn) []string {
	t.Helper()
	all := strings1(t, conn, `
		SELECT c.oid::regclass::text FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
		WHERE n.nspname !~ '^pg_' AND n.nspname <> 'information_schema' AND c.relkind IN ('r', 'p', 'v', 'm', 'f') ORDER BY 1`)
	if len(all) < 10 {
		t.Fatalf("only %d tables: %q", len(all), all)
	}
	for name, reason := range noFirm {
		if !slices.Contains(all, name) || reason == "" {
			t.Errorf("%s is excused (%q) and is not there", name, reason)
		}
	}
	return slices.DeleteFunc(all, func(name string) bool { return noFirm[name] != "" })
}

// Every key begins with the firm: a key that did not could tell one firm that
// another has something. A foreign key also ends at a firm, the same one.
func TestFirmFirstInEveryKey(t *testing.T) {
	t.Parallel()
	conn := pgtest.New(t).Connect(pgdb.Owner)
	for _, table := range tables(t, conn) {
		for _, fault := range keyFaults(t, conn, table) {
			t.Errorf("%s: %s", table, fault)
		}
	}
}

func keyFaults(t *testing.T, conn *pgx.Conn, table string) (faults []string) {
	t.Helper()
	keys := strings1(t, conn, `
		SELECT i.relname || ': ' || coalesce(a.attname, 'an expression')
		FROM pg_index x
		JOIN pg_class i ON i.oid = x.indexrelid
		LEFT JOIN pg_attribute a ON a.attrelid = x.indrelid AND a.attnum = x.indkey[0] AND a.attnum > 0
		WHERE x.indrelid = $1::regclass AND (x.indisunique OR x.indisexclusion)
		UNION ALL
		SELECT c.conname || ': ' || CASE WHEN f.attname = 'firm' THEN a.attname ELSE 'not a firm' END
		FROM pg_constraint c
		JOIN pg_attribute a ON a.attrelid = c.conrelid AND a.attnum = c.conkey[1]
		JOIN pg_attribute f ON f.attrelid = c.confrelid AND f.attnum = c.confkey[1]
		WHERE c.conrelid = $1::regclass AND c.contype = 'f'`, table)
	for _, key := range keys {
		if !strings.HasSuffix(key, ": firm") {
			faults = append(faults, "the key "+key+" does not begin with the firm")
		}
	}
	if primary := strings1(t, conn, `SELECT conname::text FROM pg_constraint WHERE conrelid = $1::regclass AND contype = 'p'`, table); len(primary) != 1 {
		faults = append(faults, "it has no primary key")
	}
	if firm := strings1(t, conn, `SELECT format_type(atttypid, atttypmod) FROM pg_attribute WHERE attrelid = $1::regclass AND attname = 'firm' AND attnotnull`, table); !slices.Equal(firm, []string{"uuid"}) {
		faults = append(faults, "it has no column firm that is a uuid and never null")
	}
	if own := strings1(t, conn, `SELECT attname::text FROM pg_attribute WHERE attrelid = $1::regclass AND attidentity <> ''
		UNION ALL SELECT s.oid::regclass::text FROM pg_class s JOIN pg_depend d ON d.objid = s.oid AND d.classid = 'pg_class'::regclass
		WHERE s.relkind = 'S' AND d.refobjid = $1::regclass`, table); len(own) > 0 {
		faults = append(faults, strings.Join(own, ", ")+" counts over all firms")
	}
	return faults
}

// Nothing of the log hangs from another table or goes with its rows.
func TestNoForeignKeysIntoOrOutOfTheLog(t *testing.T) {
	t.Parallel()
	conn := pgtest.New(t).Connect(pgdb.Owner)
	for _, table := range []string{"head", "event", "event_bytes", "quarantine", "quarantine_decision", "checkpoint", "checkpoint_fault", "firm_leaf", "firm_checkpoint"} {
		if keys := strings1(t, conn, `SELECT conname::text FROM pg_constraint WHERE contype = 'f' AND $1::regclass IN (conrelid, confrelid)`, table); len(keys) > 0 {
			t.Errorf("%s: %q", table, keys)
		}
	}
	for _, fault := range cascadeFaults(t, conn) {
		t.Error(fault)
	}
}

func cascadeFaults(t *testing.T, conn *pgx.Conn) (faults []string) {
	t.Helper()
	for _, name := range strings1(t, conn, `SELECT conname::text FROM pg_constraint WHERE contype = 'f' AND (confdeltype <> 'a' OR confupdtype <> 'a')`) {
		faults = append(faults, name+" changes rows by itself")
	}
	return faults
}

// Row security is on and forced, and every policy says for which role it is:
// the server's and the eraser's by firm, the worker's over what it looks for.
func TestRowSecurity(t *testing.T) {
	t.Parallel()
	conn := pgtest.New(t).Connect(pgdb.Owner)
	for _, table := range tables(t, conn) {
		for _, fault := range securityFaults(t, conn, table) {
			t.Errorf("%s: %s", table, fault)
		}
	}
}

// What roles beside the server's and the owner's may see of a table's rows.
var (
	erased = []string{"event_bytes", "quarantine", "quarantine_decision", "book_text", "book_word", "trail", "photo"}
	due    = map[string]string{
		"head": "true for SELECT", "task": "true",
		// What is counted: of rows that something is the matter with.
		"photo": "(state <> 'durable'::text) for SELECT", "phone": "((lost > 0) OR (oldest_unsent_at IS NOT NULL)) for SELECT",
		"job_summary": "(doubts > 0) for SELECT", "quarantine": "true for SELECT", "checkpoint_fault": "true for SELECT",
	}
)

const byFirm = `(firm = (NULLIF(current_setting('app.firm'::text, true), ''::text))::uuid)`

func securityFaults(t *testing.T, conn *pgx.Conn, table string) (faults []string) {
	t.Helper()
	var kind string
	var on, forced bool
	err := conn.QueryRow(t.Context(), `SELECT relkind::text, relrowsecurity, relforcerowsecurity FROM pg_class WHERE oid = $1::regclass`, table).Scan(&kind, &on, &forced)
	if err != nil {
		t.Fatal(err)
	}
	if kind != "r" {
		faults = append(faults, "it is no plain table: row security does not hold there")
	}
	if !on {
		faults = append(faults, "row security is off")
	}
	if !forced {
		faults = append(faults, "row security is not forced on the owner")
	}
	want := []string{pgdb.App + ": " + byFirm, pgdb.Owner + ": true"}
	if slices.Contains(erased, table) {
		want = append(want, pgdb.Eraser+": "+byFirm)
	}
	if all, ok := due[table]; ok {
		want = append(want, pgdb.Worker+": "+all)
	}
	slices.Sort(want)
	got := strings1(t, conn, `
		SELECT array_to_string(roles, ' ') || ': ' || coalesce(qual, 'none') || coalesce(' with ' || with_check, '')
			|| CASE WHEN cmd = 'ALL' THEN '' ELSE ' for ' || cmd END || CASE permissive WHEN 'PERMISSIVE' THEN '' ELSE ' at most' END
		FROM pg_policies p JOIN pg_class c ON c.relname = p.tablename AND c.relnamespace::regnamespace::text = p.schemaname
		WHERE c.oid = $1::regclass`, table)
	slices.Sort(got)
	if diff := cmp.Diff(want, got); diff != "" {
		faults = append(faults, "its policies (-want +got):\n"+diff)
	}
	return faults
}

// No function runs with the rights of who made it, nor does a view: either
// would pass by row security.
func TestNothingLendsItsRights(t *testing.T) {
	t.Parallel()
	for _, fault := range lentRights(t, pgtest.New(t).Connect(pgdb.Owner)) {
		t.Error(fault)
	}
}

func lentRights(t *testing.T, conn *pgx.Conn) []string {
	t.Helper()
	return strings1(t, conn, `
		SELECT 'the function ' || proname || ' runs with the rights of who made it' FROM pg_proc p JOIN pg_namespace n ON n.oid = pronamespace
		WHERE prosecdef AND nspname !~ '^pg_' AND nspname <> 'information_schema'
		UNION ALL
		SELECT 'there is a rule ' || rulename FROM pg_rules WHERE schemaname !~ '^pg_' AND schemaname <> 'information_schema'
		UNION ALL
		SELECT 'what is made later is granted to ' || g.grantee::regrole FROM pg_default_acl, aclexplode(defaclacl) g
		WHERE g.grantee NOT IN (defaclrole, 'relevel_backup'::regrole)
		UNION ALL
		SELECT 'changes are published as ' || pubname FROM pg_publication`)
}

// grants is all that the roles may do, beside the owner.
var grants = []string{
	"relevel_app account DELETE INSERT SELECT UPDATE",
	"relevel_app api_token INSERT SELECT UPDATE",
	"relevel_app attempt DELETE INSERT SELECT UPDATE",
	"relevel_app book_read DELETE INSERT SELECT UPDATE",
	"relevel_app book_text DELETE INSERT SELECT UPDATE",
	"relevel_app book_word DELETE INSERT SELECT UPDATE",
	"relevel_app calendar INSERT SELECT UPDATE",
	"relevel_app challenge DELETE INSERT SELECT",
	"relevel_app checkpoint INSERT SELECT",
	"relevel_app checkpoint_fault INSERT SELECT",
	"relevel_app crew DELETE INSERT SELECT UPDATE",
	"relevel_app device INSERT SELECT UPDATE",
	"relevel_app diary DELETE INSERT SELECT UPDATE",
	"relevel_app event INSERT SELECT",
	"relevel_app event_bytes INSERT SELECT",
	"relevel_app firm INSERT SELECT UPDATE",
	"relevel_app firm_checkpoint INSERT SELECT",
	"relevel_app firm_leaf INSERT SELECT",
	"relevel_app head INSERT SELECT",
	"relevel_app head.frontier UPDATE",
	"relevel_app head.root UPDATE",
	"relevel_app head.seq UPDATE",
	"relevel_app hook DELETE INSERT SELECT UPDATE",
	"relevel_app hook_delivery DELETE INSERT SELECT",
	"relevel_app hook_told DELETE INSERT SELECT UPDATE",
	"relevel_app invitation INSERT SELECT UPDATE",
	"relevel_app jack INSERT SELECT",
	"relevel_app job INSERT SELECT UPDATE",
	"relevel_app job_closing INSERT SELECT",
	"relevel_app job_summary DELETE INSERT SELECT UPDATE",
	"relevel_app laser INSERT SELECT",
	"relevel_app pack DELETE INSERT SELECT UPDATE",
	"relevel_app pairing DELETE INSERT SELECT",
	"relevel_app passkey DELETE INSERT SELECT UPDATE",
	"relevel_app person DELETE INSERT SELECT UPDATE",
	"relevel_app phone INSERT SELECT UPDATE",
	"relevel_app photo INSERT SELECT UPDATE",
	"relevel_app practice INSERT SELECT",
	"relevel_app public_key INSERT SELECT",
	"relevel_app public_key.until_at UPDATE",
	"relevel_app quarantine INSERT SELECT",
	"relevel_app quarantine_decision INSERT SELECT",
	"relevel_app schema_migrations SELECT",
	"relevel_app session INSERT SELECT UPDATE",
	"relevel_app share INSERT SELECT UPDATE",
	"relevel_app share_visit DELETE INSERT SELECT",
	"relevel_app sign_in DELETE INSERT SELECT",
	"relevel_app task DELETE INSERT SELECT UPDATE",
	"relevel_app tolerance_profile INSERT SELECT",
	"relevel_app trail INSERT SELECT",
	"relevel_eraser book_text DELETE",
	"relevel_eraser book_text.firm SELECT",
	"relevel_eraser book_text.job SELECT",
	"relevel_eraser book_text.seq SELECT",
	"relevel_eraser book_word DELETE",
	"relevel_eraser book_word.firm SELECT",
	"relevel_eraser book_word.job SELECT",
	"relevel_eraser book_word.seq SELECT",
	"relevel_eraser event_bytes DELETE",
	"relevel_eraser event_bytes.firm SELECT",
	"relevel_eraser event_bytes.job SELECT",
	"relevel_eraser event_bytes.seq SELECT",
	"relevel_eraser photo DELETE",
	"relevel_eraser photo.firm SELECT",
	"relevel_eraser photo.sha256 SELECT",
	"relevel_eraser quarantine DELETE",
	"relevel_eraser quarantine.digest SELECT",
	"relevel_eraser quarantine.event_id SELECT",
	"relevel_eraser quarantine.firm SELECT",
	"relevel_eraser quarantine.job SELECT",
	"relevel_eraser quarantine_decision DELETE",
	"relevel_eraser quarantine_decision.digest SELECT",
	"relevel_eraser quarantine_decision.firm SELECT",
	"relevel_eraser quarantine_decision.n SELECT",
	"relevel_eraser trail DELETE",
	"relevel_eraser trail.at SELECT",
	"relevel_eraser trail.firm SELECT",
	"relevel_worker checkpoint_fault.found_at SELECT",
	"relevel_worker head.firm SELECT",
	"relevel_worker head.job SELECT",
	"relevel_worker head.seq SELECT",
	"relevel_worker job_summary.doubts SELECT",
	"relevel_worker phone.lost SELECT",
	"relevel_worker phone.oldest_unsent_at SELECT",
	"relevel_worker photo.at SELECT",
	"relevel_worker photo.damaged SELECT",
	"relevel_worker photo.state SELECT",
	"relevel_worker quarantine.at SELECT",
	"relevel_worker task DELETE SELECT UPDATE",
}

// A right more than these is to be thought over here first. The backup reads
// every table and changes none.
func TestGrants(t *testing.T) {
	t.Parallel()
	conn := pgtest.New(t).Connect(pgdb.Owner)
	want := slices.Clone(grants)
	for _, table := range append(tables(t, conn), slices.Collect(maps.Keys(noFirm))...) {
		want = append(want, "relevel_backup "+table+" SELECT")
	}
	slices.Sort(want)
	if diff := cmp.Diff(want, granted(t, conn)); diff != "" {
		t.Errorf("the grants (-want +got):\n%s", diff)
	}
}

// granted lists the rights of everybody but the owner.
func granted(t *testing.T, conn *pgx.Conn) []string {
	t.Helper()
	got := strings1(t, conn, `
		SELECT concat_ws(' ', coalesce(grantee::regrole::text, 'everybody'), what, string_agg(privilege, ' ' ORDER BY privilege))
		FROM (
			SELECT nullif(g.grantee, 0) AS grantee, c.relname::text AS what, g.privilege_type AS privilege
			FROM pg_class c, aclexplode(c.relacl) g WHERE c.relnamespace = 'public'::regnamespace AND g.grantee <> c.relowner
			UNION ALL
			SELECT nullif(g.grantee, 0), c.relname || '.' || a.attname, g.privilege_type
			FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid, aclexplode(a.attacl) g
			WHERE c.relnamespace = 'public'::regnamespace AND g.grantee <> c.relowner
		) AS granted
		GROUP BY grantee, what`)
	slices.Sort(got)
	return got
}

// Nobody but the owner owns anything, and nobody borrows another's rights.
func TestRoles(t *testing.T) {
	t.Parallel()
	conn := pgtest.New(t).Connect(localpg.Superuser)
	for _, role := range pgdb.Roles() {
		var super, bypass, create bool
		err := conn.QueryRow(t.Context(), `SELECT rolsuper, rolbypassrls, rolcreaterole OR rolcreatedb OR rolreplication FROM pg_roles WHERE rolname = $1`, role).Scan(&super, &bypass, &create)
		if err != nil {
			t.Fatal(err)
		}
		if super || create || bypass != (role == pgdb.Backup) {
			t.Errorf("%s: superuser %t, may make roles or databases or copy the server %t, passes by row security %t", role, super, create, bypass)
		}
		if of := strings1(t, conn, `SELECT roleid::regrole::text FROM pg_auth_members WHERE member = $1::regrole`, role); len(of) > 0 {
			t.Errorf("%s is also %q", role, of)
		}
		owned := strings1(t, conn, `
			SELECT pg_describe_object(classid, objid, 0) FROM pg_shdepend
			WHERE refobjid = $1::regrole AND deptype = 'o' AND refclassid = 'pg_authid'::regclass
				AND dbid = (SELECT oid FROM pg_database WHERE datname = current_database())
			UNION ALL -- what all databases share comes and goes with the tests beside this one
			SELECT 'database ' || datname FROM pg_database WHERE datdba = $1::regrole`, role)
		if role != pgdb.Owner && len(owned) > 0 {
			t.Errorf("%s owns %q", role, owned)
		}
		if role == pgdb.Owner && len(owned) < 10 {
			t.Errorf("the owner owns %q only: is the query right?", owned)
		}
	}
}

// Only the roles may enter the database, and none may make things in it for a
// while or for good, beside the owner.
func TestDatabaseIsClosed(t *testing.T) {
	t.Parallel()
	d := pgtest.New(t)
	got := strings1(t, d.Connect(pgdb.Owner), `
		SELECT coalesce(nullif(g.grantee, 0)::regrole::text, 'everybody') || ' ' || g.privilege_type
		FROM pg_database b, aclexplode(b.datacl) g WHERE b.datname = current_database() AND g.grantee <> b.datdba`)
	want := []string{pgdb.App + " CONNECT", pgdb.Backup + " CONNECT", pgdb.Eraser + " CONNECT", pgdb.Worker + " CONNECT"}
	slices.Sort(got)
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("who may enter (-want +got):\n%s", diff)
	}
	for _, role := range []string{pgdb.App, pgdb.Worker, pgdb.Eraser, pgdb.Backup} {
		for _, statement := range []string{`CREATE TABLE mine (n int)`, `CREATE TEMP TABLE mine (n int)`, `CREATE SCHEMA mine`} {
			if _, err := d.Connect(role).Exec(t.Context(), statement); pgdb.Code(err) != insufficientPrivilege {
				t.Errorf("%s: %s: %v, want it refused", role, statement, err)
			}
		}
	}
}
