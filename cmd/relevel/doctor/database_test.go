package doctor

import (
	"crypto/rand"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"golang.org/x/mod/sumdb/note"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
	"relevel/events/proof"
)

// sound is an installation on a database of its own server, with a job in it.
func sound(t *testing.T) (Installation, *pgtest.DB, events.ID, events.ID) {
	t.Helper()
	d := pgtest.Own(t)
	i := healthy(t)
	i.Database = Addresses{App: d.DSN(pgdb.App), Worker: d.DSN(pgdb.Worker), Owner: d.DSN(pgdb.Owner), Eraser: d.DSN(pgdb.Eraser), Backup: d.DSN(pgdb.Backup)}
	firm, job := eventstest.NewFirm(t), eventstest.NewFirm(t)
	must(t, pglog.New(d.App).Create(t.Context(), firm, job))
	return i, d, firm, job
}

// broken is what is done to a database, and how it is undone.
type broken struct {
	fault
	break_, mend string
}

func TestDatabaseFaults(t *testing.T) {
	i, d, firm, job := sound(t)
	admin := d.Connect(localpg.Superuser)
	before := everyRow(t, admin)
	soundExcept(t, examined(t, i), "address")
	if after := everyRow(t, admin); after != before {
		t.Errorf("a look changed something:\n%s\n%s", before, after)
	}
	run := func(t *testing.T, statements string) {
		t.Helper()
		statements = strings.NewReplacer("$firm", "'"+firm.String()+"'", "$job", "'"+job.String()+"'", "$database", d.Name).Replace(statements)
		for one := range strings.SplitSeq(statements, "; ") {
			if _, err := admin.Exec(t.Context(), one); err != nil {
				t.Fatalf("%s: %v", one, err)
			}
		}
	}
	for _, b := range databaseFaults {
		t.Run(b.name, func(t *testing.T) {
			run(t, b.break_)
			b.finds(t, i)
			run(t, b.mend)
		})
	}
	t.Run("MendedAll", func(t *testing.T) {
		// The settings are read anew in a moment.
		for until := time.Now().Add(patience); Failed(examined(t, i)) && time.Now().Before(until); time.Sleep(200 * time.Millisecond) {
		}
		soundExcept(t, examined(t, i), "address")
	})
}

// everyRow is all that a database holds.
func everyRow(t *testing.T, conn *pgx.Conn) (rows string) {
	t.Helper()
	must(t, conn.QueryRow(t.Context(), `SELECT string_agg(relname || query_to_xml('SELECT * FROM ' || oid::regclass || ' t ORDER BY t::text', true, true, '')::text, ' ' ORDER BY relname)
		FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace`).Scan(&rows))
	return rows
}

var databaseFaults = []broken{
	{fault{"Superuser", nil, "Guards", "roles", Wrong, "relevel_worker is a superuser", "ALTER ROLE relevel_worker NOSUPERUSER"}, "ALTER ROLE relevel_worker SUPERUSER", "ALTER ROLE relevel_worker NOSUPERUSER"},
	{fault{"PassesByRowSecurity", nil, "Guards", "roles", Wrong, "relevel_app passes by row security", "NOBYPASSRLS"}, "ALTER ROLE relevel_app BYPASSRLS", "ALTER ROLE relevel_app NOBYPASSRLS"},
	{fault{"BackupSeesNothing", nil, "Guards", "roles", Wrong, "a backup would be empty", "ALTER ROLE relevel_backup BYPASSRLS"}, "ALTER ROLE relevel_backup NOBYPASSRLS", "ALTER ROLE relevel_backup BYPASSRLS"},
	{fault{"MakesDatabases", nil, "Guards", "roles", Wrong, "relevel_eraser may make roles or databases", "NOCREATEDB"}, "ALTER ROLE relevel_eraser CREATEDB", "ALTER ROLE relevel_eraser NOCREATEDB"},
	{fault{"ActsAsOwner", nil, "Guards", "roles", Wrong, "relevel_app may act as relevel_owner", "REVOKE relevel_owner FROM relevel_app"}, "GRANT relevel_owner TO relevel_app", "REVOKE relevel_owner FROM relevel_app"},
	{fault{"RoleMissing", nil, "Guards", "roles", Wrong, "the role relevel_eraser is missing", "migrate --prepare"}, "ALTER ROLE relevel_eraser RENAME TO gone", "ALTER ROLE gone RENAME TO relevel_eraser"},
	{fault{"EverybodyMakesTables", nil, "Guards", "schema public", Wrong, "everybody may make tables", "FROM PUBLIC"}, "GRANT CREATE ON SCHEMA public TO PUBLIC", "REVOKE CREATE ON SCHEMA public FROM PUBLIC"},
	{fault{"AppMakesTables", nil, "Guards", "schema public", Wrong, "relevel_app may make tables", "FROM relevel_app"}, "GRANT CREATE ON SCHEMA public TO relevel_app", "REVOKE CREATE ON SCHEMA public FROM relevel_app"},
	{fault{"RowSecurityOff", nil, "Guards", "firms apart", Wrong, "on photo", "FORCE ROW LEVEL SECURITY"}, "ALTER TABLE photo DISABLE ROW LEVEL SECURITY", "ALTER TABLE photo ENABLE ROW LEVEL SECURITY"},
	{fault{"RowSecurityNotForced", nil, "Guards", "firms apart", Wrong, "on head", "FORCE ROW LEVEL SECURITY"}, "ALTER TABLE head NO FORCE ROW LEVEL SECURITY", "ALTER TABLE head FORCE ROW LEVEL SECURITY"},
	{fault{"WidePolicy", nil, "Guards", "policies", Wrong, "wide on event", "DROP POLICY wide on event"}, "CREATE POLICY wide ON event USING (true)", "DROP POLICY wide ON event"},
	{fault{"TriggerOff", nil, "Guards", "triggers", Wrong, "event_unchanged is off or gone", "ENABLE ALWAYS TRIGGER event_unchanged"}, "ALTER TABLE event DISABLE TRIGGER event_unchanged", "ALTER TABLE event ENABLE ALWAYS TRIGGER event_unchanged"},
	{fault{"TriggerNotAlways", nil, "Guards", "triggers", Wrong, "trail_unchanged is off or gone", "ENABLE ALWAYS"}, "ALTER TABLE trail ENABLE TRIGGER trail_unchanged", "ALTER TABLE trail ENABLE ALWAYS TRIGGER trail_unchanged"},
	{fault{"TriggerGone", nil, "Guards", "triggers", Wrong, "firm_leaf_unchanged is off or gone", "ENABLE ALWAYS"}, "DROP TRIGGER firm_leaf_unchanged ON firm_leaf",
		"CREATE TRIGGER firm_leaf_unchanged BEFORE UPDATE OR DELETE OR TRUNCATE ON firm_leaf FOR EACH STATEMENT EXECUTE FUNCTION refuse_change(); ALTER TABLE firm_leaf ENABLE ALWAYS TRIGGER firm_leaf_unchanged"},
	{fault{"AppRewrites", nil, "Guards", "a try", Wrong, `as relevel_app the database takes "UPDATE event SET kind = kind"`, "records could have been changed"},
		"ALTER TABLE event DISABLE TRIGGER event_unchanged; GRANT UPDATE ON event TO relevel_app", "ALTER TABLE event ENABLE ALWAYS TRIGGER event_unchanged; REVOKE UPDATE ON event FROM relevel_app"},
	{fault{"OwnerDeletes", nil, "Guards", "a try", Wrong, `as relevel_owner the database takes "UPDATE checkpoint`, "records could have been changed"}, "ALTER TABLE checkpoint DISABLE TRIGGER checkpoint_unchanged", "ALTER TABLE checkpoint ENABLE ALWAYS TRIGGER checkpoint_unchanged"},
	{fault{"SchemaBehind", nil, "Database", "schema", Wrong, "this program needs", "run relevel migrate"}, "UPDATE schema_migrations SET version = version - 1", "UPDATE schema_migrations SET version = version + 1"},
	{fault{"SchemaAhead", nil, "Database", "schema", Look, "newer than the", "replace this program"}, "UPDATE schema_migrations SET version = version + 1", "UPDATE schema_migrations SET version = version - 1"},
	{fault{"SchemaUnfinished", nil, "Database", "schema", Wrong, "did not finish", "run relevel migrate again"}, "UPDATE schema_migrations SET dirty = true", "UPDATE schema_migrations SET dirty = false"},
	{fault{"CommitDoesNotWait", nil, "Database", "durability", Wrong, "synchronous_commit = off", "set them to on"}, "ALTER ROLE relevel_app SET synchronous_commit = off", "ALTER ROLE relevel_app RESET synchronous_commit"},
	{fault{"NoSync", nil, "Database", "durability", Wrong, "fsync = off, full_page_writes = off", "set them to on"},
		"ALTER SYSTEM SET fsync = off; ALTER SYSTEM SET full_page_writes = off; SELECT pg_reload_conf()", "ALTER SYSTEM RESET fsync; ALTER SYSTEM RESET full_page_writes; SELECT pg_reload_conf()"},
	{fault{"NoStandby", nil, "Database", "standbys", Wrong, "commits wait for a standby (elsewhere) and none is connected", "clear synchronous_standby_names"},
		"ALTER SYSTEM SET synchronous_standby_names = 'elsewhere'; SELECT pg_reload_conf()", "ALTER SYSTEM RESET synchronous_standby_names; SELECT pg_reload_conf()"},
	{fault{"Disagrees", nil, "Records", "signed", Wrong, "1 logs no longer agree", "change nothing"},
		"INSERT INTO checkpoint_fault VALUES ($firm, $job, 3, 3, sha256('x'), 'tried', now())", "ALTER TABLE checkpoint_fault DISABLE TRIGGER ALL; DELETE FROM checkpoint_fault; ALTER TABLE checkpoint_fault ENABLE ALWAYS TRIGGER checkpoint_fault_unchanged"},
	{fault{"PhotoWaits", nil, "Records", "photos", Look, "1 photos have not been read back", "RELEVEL_WORKER_DATABASE_URL"},
		"INSERT INTO photo VALUES ($firm, sha256('x'), 'photo', 1, 'image/jpeg', 'stored', now() - interval '2 hours')", "DELETE FROM photo"},
	{fault{"TaskLate", nil, "Records", "tasks", Look, "1 have been due for more than an hour", "see that a server runs"}, "INSERT INTO task (firm, id, kind, ref, due_at) VALUES ($firm, $job, 'x', 'x', now() - interval '2 hours')", "DELETE FROM task"},
	{fault{"TaskDead", nil, "Records", "tasks", Look, "1 were given up", "try again"}, "INSERT INTO task (firm, id, kind, ref, due_at, dead) VALUES ($firm, $job, 'x', 'x', now(), true)", "DELETE FROM task"},
	{fault{"NotLetIn", nil, "Database", "backup", Wrong, "it cannot be entered as relevel_backup", "let the role in"}, "REVOKE CONNECT ON DATABASE $database FROM relevel_backup", "GRANT CONNECT ON DATABASE $database TO relevel_backup"},
}

// What is other about the addresses, the clock and how many servers there are.
func TestReachingTheDatabase(t *testing.T) {
	i, d, firm, job := sound(t)
	for _, f := range []fault{
		{"AnotherRole", func(_ *testing.T, i *Installation) { i.Database.App = d.DSN(pgdb.Worker) }, "Database", "server", Wrong, "it is entered as relevel_worker", "with the role relevel_app"},
		{"NoSuchDatabase", func(_ *testing.T, i *Installation) {
			i.Database.App = strings.Replace(i.Database.App, d.Name, "elsewhere", 1)
		}, "Database", "server", Wrong, `database "elsewhere" does not exist`, "migrate --prepare"},
		{"Away", func(t *testing.T, i *Installation) { i.Database.App = "postgres://relevel_app@/x?host=" + t.TempDir() }, "Database", "server", Wrong, "it cannot be entered as relevel_app", "see that the database runs"},
		{"Nonsense", func(_ *testing.T, i *Installation) { i.Database.App = "postgres://%" }, "Database", "server", Wrong, "", "the address is postgres://relevel_app"},
		{"NoWorker", func(_ *testing.T, i *Installation) { i.Database.Worker = "" }, "Database", "worker", Look, "nobody may look over all firms", "RELEVEL_WORKER_DATABASE_URL"},
		{"ManyServers", func(_ *testing.T, i *Installation) { i.Servers = 9 }, "Database", "connections", Look, "9 servers may take 32 each", "pool_max_conns="},
		{"ClockNear", func(_ *testing.T, i *Installation) { i.Now = later(10 * time.Second) }, "Database", "clock", Look, "the database's clock is -", "NTP"},
		{"ClockFar", func(_ *testing.T, i *Installation) { i.Now = later(-time.Hour) }, "Database", "clock", Wrong, "the database's clock is ", "NTP"},
		{"OtherKeys", func(t *testing.T, i *Installation) { signElsewhere(t, d.Connect(localpg.Superuser), firm, job) }, "Keys", "last checkpoints", Wrong, "which is not in", "put that file of keys back"},
	} {
		t.Run(f.name, func(t *testing.T) { f.tried(t, i) })
	}
}

func later(by time.Duration) func() time.Time {
	return func() time.Time { return time.Now().Add(by) }
}

// signElsewhere keeps a checkpoint that was signed by a key nobody has here.
func signElsewhere(t *testing.T, conn *pgx.Conn, firm, job events.ID) {
	t.Helper()
	secret, _, err := proof.GenerateKey(rand.Reader, "elsewhere.example")
	must(t, err)
	signer, err := note.NewSigner(secret)
	must(t, err)
	signed, err := proof.Sign(proof.Checkpoint{Origin: proof.JobOrigin("elsewhere.example", firm, job), Size: 1}, signer)
	must(t, err)
	_, err = conn.Exec(t.Context(), fmt.Sprintf(`INSERT INTO checkpoint VALUES ('%s', '%s', 1, '', $1, now())`, firm, job), signed)
	must(t, err)
}
