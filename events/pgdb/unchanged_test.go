package pgdb_test

import (
	"testing"

	"github.com/jackc/pgx/v5"

	"relevel/deploy/localpg"
	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
)

const insufficientPrivilege = "42501"

// A stored event is changed by nobody: not by the server's role, not by the
// owner, not by a superuser, not by a session that says it is a replica. Only
// the bytes can go, and only by the eraser.
func TestEventsAreUnchanged(t *testing.T) {
	db := pgtest.New(t)
	firm, job, maker := eventstest.NewFirm(t), eventstest.NewFirm(t), eventstest.NewMaker(t)
	log := pglog.New(db.App)
	if err := log.Create(t.Context(), firm, job); err != nil {
		t.Fatal(err)
	}
	if _, err := log.Append(t.Context(), eventstest.BatchOf(firm, job, maker.Note(job))); err != nil {
		t.Fatal(err)
	}
	for _, role := range []string{pgdb.App, pgdb.Owner, localpg.Superuser, "replica"} {
		for _, statement := range []string{
			`UPDATE event SET kind = 'other'`,
			`DELETE FROM event`,
			`TRUNCATE event CASCADE`,
			`UPDATE event_bytes SET bytes = 'x'`,
			`DELETE FROM event_bytes`,
			`TRUNCATE event_bytes`,
		} {
			t.Run(role+"/"+statement, func(t *testing.T) { refused(t, db, firm, role, statement) })
		}
	}
	t.Run("EraserTakesBytes", func(t *testing.T) {
		eraser := firmConn(t, db, firm, pgdb.Eraser)
		for _, statement := range []string{`UPDATE event_bytes SET bytes = 'x'`, `DELETE FROM event`, `TRUNCATE event_bytes`} {
			if _, err := eraser.Exec(t.Context(), statement); pgdb.Code(err) != insufficientPrivilege {
				t.Errorf("%s: %v, want it refused", statement, err)
			}
		}
		tag, err := eraser.Exec(t.Context(), `DELETE FROM event_bytes WHERE firm = $1 AND job = $2 AND seq = 1`, firm.String(), job.String())
		if err != nil || tag.RowsAffected() != 1 {
			t.Errorf("%d rows went, %v", tag.RowsAffected(), err)
		}
	})
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
