package server_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
	"relevel/jobs/pgjobs"
	"relevel/server"
)

// Derived rows that are gone come back as they were, of the firm that is asked for
// alone.
func TestRebuild(t *testing.T) {
	s := newSiteOn(t, pgtest.New(t))
	c, other := s.firm("Level Best"), s.firm("Plumb & Sons")
	job := c.newJob()
	d := newDevice(t, job)
	c.post(job, d.raw("plan", smallPlan), d.raw("note", `{"text":"2"}`))
	d.raw("note", `{"text":"lost"}`)
	d.job = newID(t)
	c.send("POST", "/jobs/"+job.String()+"/events", batch(d.raw("note", `{"text":"in quarantine"}`))).want(t, 200, nil)
	theirs := other.newJob()
	other.post(theirs, newDevice(t, theirs).raw("plan", smallPlan))
	s.app.Close() // writes what is due

	log, store := pglog.New(s.db.App), pgjobs.New(s.db.App)
	summaries, err := store.ListSummaries(t.Context(), c.firm)
	must(t, err)
	phones, err := store.ListPhones(t.Context(), c.firm)
	must(t, err)
	if len(summaries) != 1 || summaries[0].Seq != 2 || len(phones) != 1 || phones[0].Seen.Highest() != 4 || phones[0].Seen.Missing().Count() != 1 {
		t.Fatalf("before: %+v %+v", summaries, phones)
	}
	owner := s.db.Connect(pgdb.Owner)
	for _, table := range []string{"phone", "job_summary"} {
		if _, err := owner.Exec(t.Context(), `DELETE FROM `+table+` WHERE firm = ANY($1)`, []string{c.firm.String(), other.firm.String()}); err != nil {
			t.Fatal(err)
		}
	}
	for range 2 {
		if n, err := server.Rebuild(t.Context(), log, store, c.firm); err != nil || n != 1 {
			t.Fatalf("%d jobs, %v", n, err)
		}
		again, err := store.ListSummaries(t.Context(), c.firm)
		must(t, err)
		heard, err := store.ListPhones(t.Context(), c.firm)
		must(t, err)
		if diff := cmp.Diff([]any{summaries, phones}, []any{again, heard}); diff != "" {
			t.Errorf("(-before +rebuilt):\n%s", diff)
		}
	}
	if left, err := store.ListPhones(t.Context(), other.firm); err != nil || len(left) != 0 {
		t.Errorf("of another firm: %+v, %v", left, err)
	}
}
