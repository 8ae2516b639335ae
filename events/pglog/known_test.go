package pglog

import (
	"strings"
	"testing"

	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
)

// manyJobs are 4000 jobs of four events, as a planner sees them that takes the one a
// batch is for to be like all others.
const manyJobs = `
	INSERT INTO event (firm, job, seq, id, kind, v, recorded_at, leaf)
	SELECT md5('firm' || f)::uuid, md5('job' || f || ' ' || j)::uuid, n, gen_random_uuid(), 'note', 1, now(), sha256('x')
	FROM generate_series(1, 200) AS f, generate_series(1, 20) AS j, generate_series(1, 4) AS n;
	ANALYZE event`

// The plan for any batch looks its ids up one by one: one that reads the job for them takes
// as long as the job is.
func TestKnownByID(t *testing.T) {
	db := pgtest.New(t)
	if _, err := db.Connect(pgdb.Owner).Exec(t.Context(), manyJobs); err != nil {
		t.Fatal(err)
	}
	at := db.PlanForAny(pgdb.Owner, selectKnown, "uuid", "uuid", "uuid[]")
	if !strings.Contains(at, "event_id_key on event") || strings.Contains(at, "Filter: (id") {
		t.Errorf("the ids of a batch are not looked up one by one:\n%s", at)
	}
}
