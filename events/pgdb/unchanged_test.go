package pgdb_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb"
	"relevel/events/pgdb/localpg"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
)

const insufficientPrivilege = "42501"

// addEvent stores an event of a new firm and job.
func addEvent(t *testing.T, db *pgtest.DB) (firm, job events.ID) {
	t.Helper()
	firm, job = eventstest.NewFirm(t), eventstest.NewFirm(t)
	log := pglog.New(db.App)
	if err := log.Create(t.Context(), firm, job); err != nil {
		t.Fatal(err)
	}
	if _, err := log.Append(t.Context(), eventstest.BatchOf(firm, job, eventstest.NewMaker(t).Note(job))); err != nil {
		t.Fatal(err)
	}
	return firm, job
}

// A stored event is changed by nobody: not by the server's role, not by the
// owner, not by a superuser, not by a session that says it is a replica.
func TestEventsAreUnchanged(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	firm, _ := addEvent(t, db)
	kept := allOfEvents(t, db)
	for _, role := range []string{pgdb.App, pgdb.Worker, pgdb.Backup, pgdb.Owner, localpg.Superuser, "replica"} {
		for _, statement := range []string{
			`UPDATE event SET kind = 'other'`,
			`DELETE FROM event`,
			`TRUNCATE event CASCADE`,
			`INSERT INTO event SELECT * FROM event ON CONFLICT ON CONSTRAINT event_pkey DO UPDATE SET kind = 'other'`,
			`UPDATE event_bytes SET bytes = 'x'`,
			`DELETE FROM event_bytes`,
			`TRUNCATE event_bytes`,
		} {
			t.Run(role+"/"+statement, func(t *testing.T) { refused(t, db, firm, role, statement) })
		}
	}
	if diff := cmp.Diff(kept, allOfEvents(t, db)); diff != "" {
		t.Errorf("what was kept changed:\n%s", diff)
	}
}

func allOfEvents(t *testing.T, db *pgtest.DB) []string {
	t.Helper()
	return strings1(t, db.Connect(localpg.Superuser), `
		SELECT row_to_json(e)::text FROM event e UNION ALL SELECT row_to_json(b)::text FROM event_bytes b ORDER BY 1`)
}

// Only the bytes can go, only by the eraser, and only those of the firm it
// works for.
func TestEraserTakesBytes(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	firm, job := addEvent(t, db)
	other, _ := addEvent(t, db)
	for _, statement := range []string{`UPDATE event_bytes SET bytes = 'x'`, `DELETE FROM event`, `TRUNCATE event_bytes`, `SELECT bytes FROM event_bytes`} {
		refused(t, db, firm, pgdb.Eraser, statement)
	}
	const erase = `DELETE FROM event_bytes WHERE job = $1 AND seq = 1`
	tag, err := firmConn(t, db, other, pgdb.Eraser).Exec(t.Context(), erase, job.String())
	if err != nil || tag.RowsAffected() != 0 {
		t.Errorf("for another firm %d rows went, %v", tag.RowsAffected(), err)
	}
	tag, err = firmConn(t, db, firm, pgdb.Eraser).Exec(t.Context(), erase, job.String())
	if err != nil || tag.RowsAffected() != 1 {
		t.Errorf("%d rows went, %v", tag.RowsAffected(), err)
	}
	if left := strings1(t, db.Connect(pgdb.Owner), `SELECT format('%s %s', e.firm, b.seq) FROM event e LEFT JOIN event_bytes b USING (firm, job, seq) WHERE e.firm = $1`, firm.String()); left[0] != firm.String()+" " {
		t.Errorf("left: %q, want the event without its bytes", left)
	}
}

// The trail is added to by the server, and rows go by the eraser alone.
func TestTrailIsAppendOnly(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	firm, _ := addEvent(t, db)
	if _, err := firmConn(t, db, firm, pgdb.App).Exec(t.Context(), `INSERT INTO trail (firm, id, at, what) VALUES ($1, $1, now(), 'signed in')`, firm.String()); err != nil {
		t.Fatal(err)
	}
	for _, role := range []string{pgdb.App, pgdb.Owner, pgdb.Eraser} {
		for _, statement := range []string{`UPDATE trail SET what = 'x'`, `TRUNCATE trail`} {
			refused(t, db, firm, role, statement)
		}
	}
	for _, role := range []string{pgdb.App, pgdb.Owner} {
		refused(t, db, firm, role, `DELETE FROM trail`)
	}
	tag, err := firmConn(t, db, firm, pgdb.Eraser).Exec(t.Context(), `DELETE FROM trail WHERE at <= now()`)
	if err != nil || tag.RowsAffected() != 1 {
		t.Errorf("%d rows went, %v", tag.RowsAffected(), err)
	}
}

// The triggers hold under session_replication_role = replica too.
func TestTriggersAreAlwaysOn(t *testing.T) {
	t.Parallel()
	all := strings1(t, pgtest.New(t).Connect(pgdb.Owner), `
		SELECT format('%s.%s %s', tgrelid::regclass, tgname, tgenabled) FROM pg_trigger WHERE NOT tgisinternal ORDER BY 1`)
	want := []string{
		"checkpoint.checkpoint_unchanged A", "checkpoint_fault.checkpoint_fault_unchanged A",
		"event.event_unchanged A", "event_bytes.event_bytes_erased A", "event_bytes.event_bytes_unchanged A",
		"firm_checkpoint.firm_checkpoint_unchanged A", "firm_leaf.firm_leaf_unchanged A", "trail.trail_erased A", "trail.trail_unchanged A",
	}
	if diff := cmp.Diff(want, all); diff != "" {
		t.Error(diff)
	}
}

func refused(t *testing.T, db *pgtest.DB, firm events.ID, role, statement string) {
	t.Helper()
	login := role
	if role == "replica" {
		login = localpg.Superuser
	}
	conn := firmConn(t, db, firm, login)
	if role == "replica" {
		if _, err := conn.Exec(t.Context(), `SET session_replication_role = replica`); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := conn.Exec(t.Context(), statement); pgdb.Code(err) != insufficientPrivilege {
		t.Errorf("%v, want it refused", err)
	}
}

// firmConn is a connection on which the firm is set for good.
func firmConn(t *testing.T, db *pgtest.DB, firm events.ID, role string) *pgx.Conn {
	t.Helper()
	conn := db.Connect(role)
	if _, err := conn.Exec(t.Context(), `SELECT set_config('app.firm', $1, false)`, firm.String()); err != nil {
		t.Fatal(err)
	}
	return conn
}
