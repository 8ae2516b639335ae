package pgcensus_test

import (
	"context"
	"crypto/rand"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
	"relevel/jobs"
	"relevel/jobs/pgjobs"
	"relevel/server/census"
	"relevel/server/census/pgcensus"
	"relevel/server/tasks"
	"relevel/server/tasks/pgtasks"
)

// world is two firms of whom some things are the matter.
type world struct {
	t      *testing.T
	db     *pgtest.DB
	worker *pgdb.DB
	firms  [2]events.ID
	now    time.Time // whole milliseconds
}

func newWorld(t *testing.T) *world {
	t.Helper()
	db := pgtest.New(t)
	w := &world{t: t, db: db, worker: db.Open(pgdb.Worker), now: time.Now().UTC().Truncate(time.Millisecond)}
	for i := range w.firms {
		w.firms[i] = w.id()
		w.must(pgjobs.New(db.App).CreateFirm(t.Context(), jobs.Firm{ID: w.firms[i], Name: "canary", Words: jobs.Australia, CreatedAt: w.now}))
	}
	return w
}

func (w *world) id() events.ID {
	w.t.Helper()
	id, err := events.NewID(time.Now(), rand.Reader)
	w.must(err)
	return id
}

func (w *world) must(err error) {
	w.t.Helper()
	if err != nil {
		w.t.Fatal(err)
	}
}

func (w *world) count() census.Census {
	w.t.Helper()
	c, err := pgcensus.Count(w.t.Context(), w.worker)
	w.must(err)
	return c
}

func (w *world) ago(d time.Duration) time.Time { return w.now.Add(-d) }

// Nothing is the matter where there is nothing.
func TestCountNothing(t *testing.T) {
	if diff := cmp.Diff(census.Census{}, newWorld(t).count(), cmpopts.EquateEmpty()); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

// What is the matter is counted over all firms.
func TestCount(t *testing.T) {
	w := newWorld(t)
	w.photos()
	w.phones()
	w.tasks()
	w.rest()
	want := census.Census{
		Received: census.Waiting{Count: 3, Oldest: w.ago(3 * time.Hour)},
		Stored:   census.Waiting{Count: 1, Oldest: w.ago(4 * time.Hour)},
		Damaged:  1,
		Tasks: []census.Tasks{
			{Kind: "a", Due: 1, Later: 1, Failing: 1, Dead: 1, OldestDue: w.ago(time.Hour)},
			{Kind: "b", Running: 1},
		},
		Unsent: census.Waiting{Count: 1, Oldest: w.ago(48 * time.Hour)},
		Gaps:   2, Missing: 5, Doubts: 3, Apart: 2,
	}
	if diff := cmp.Diff(want, w.count(), cmpopts.EquateEmpty()); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
	l := pgtest.NewLosing(t, w.db)
	w.worker = l.Open(pgdb.Worker)
	if diff := cmp.Diff(want, w.count(), cmpopts.EquateEmpty()); diff != "" || l.Lost() != 1 {
		t.Errorf("counted again, since %d lost: -want +got:\n%s", l.Lost(), diff)
	}
}

func (w *world) photos() {
	ledger := pglog.NewLedger(w.db.App)
	for i, k := range []events.Kept{
		{State: events.FileReceived, At: w.ago(2 * time.Hour)},
		{State: events.FileReceived, At: w.ago(3 * time.Hour)},
		{State: events.FileReceived, At: w.ago(time.Hour), Reason: "is missing from the store"},
		{State: events.FileStored, At: w.ago(4 * time.Hour)},
		{State: events.FileDurable, At: w.ago(9 * time.Hour)},
	} {
		k.Firm, k.SHA256, k.Type, k.Bytes, k.Media = w.firms[i%2], events.Digest{byte(i)}, events.Photo, 9, events.MediaJPEG
		w.must(ledger.Record(w.t.Context(), k))
	}
}

func (w *world) phones() {
	store, ctx := pgjobs.New(w.db.App), w.t.Context()
	sent, late, revoked := w.id(), w.id(), w.id()
	w.must(store.HearPhone(ctx, jobs.Heard{Firm: w.firms[0], Device: sent, Seen: jobs.NumbersOf(1, 2, 3), At: w.now}))
	w.must(store.HearPhone(ctx, jobs.Heard{Firm: w.firms[0], Device: late, Seen: jobs.NumbersOf(3, 6), At: w.now}))
	w.must(store.HearPhone(ctx, jobs.Heard{Firm: w.firms[1], Device: revoked, Seen: jobs.NumbersOf(2, 3), At: w.now}))
	w.must(store.SavePhoneReport(ctx, w.firms[0], sent, jobs.PhoneReport{Version: "1", Unsent: 4, OldestUnsentAt: w.ago(99 * time.Hour), At: w.now}))
	w.must(store.SavePhoneReport(ctx, w.firms[0], sent, jobs.PhoneReport{Version: "1", At: w.now}))
	for firm, device := range map[events.ID]events.ID{w.firms[0]: late, w.firms[1]: revoked} {
		w.must(store.SavePhoneReport(ctx, firm, device, jobs.PhoneReport{Version: "1", Unsent: 2, OldestUnsentAt: w.ago(48 * time.Hour), At: w.now}))
	}
	token := jobs.Token{Firm: w.firms[1], ID: w.id(), Hash: events.Digest{1}, Name: "lost", Scope: jobs.ScopePhone, Device: revoked, CreatedAt: w.now}
	w.must(store.CreateToken(ctx, token))
	w.must(store.RevokeToken(ctx, token.Firm, token.ID, w.now))
}

// tasks makes one in each state.
func (w *world) tasks() {
	now := w.now
	q := pgtasks.New(w.db.App, w.worker, func() time.Time { return now }, rand.Reader)
	ctx := w.t.Context()
	add := func(kind, ref string, due time.Time) {
		w.must(q.Add(ctx, w.firms[0], tasks.Task{Kind: kind, Ref: ref, Due: due}))
	}
	claim := func(kind string, until time.Duration) tasks.Task {
		got, err := q.Claim(ctx, tasks.Claim{Now: now, Until: now.Add(until), Kinds: []string{kind}, Limit: 1})
		w.must(err)
		if len(got) != 1 {
			w.t.Fatalf("%d tasks of %s were claimed", len(got), kind)
		}
		return got[0]
	}
	add("b", "running", now)
	claim("b", time.Hour)
	add("a", "dead", now)
	w.must(q.Bury(ctx, claim("a", time.Hour), "no use"))
	add("a", "failing", now)
	w.must(q.Retry(ctx, claim("a", time.Hour), tasks.Retry{Due: now.Add(time.Hour), Reason: "no answer"}))
	add("a", "later", now.Add(time.Hour))
	add("a", "due", w.ago(time.Hour))
}

func (w *world) rest() {
	ctx := w.t.Context()
	store := pgjobs.New(w.db.App)
	for i, doubts := range [][]string{{"B1-1", "D1"}, {"B2-2"}, nil} {
		w.must(store.SaveSummary(ctx, jobs.Summary{Firm: w.firms[i%2], Job: w.id(), Seq: 1, Version: 1, Brief: jobs.Brief{Doubts: doubts}}))
	}
	log := pglog.New(w.db.App)
	for i := range 2 {
		w.must(log.Quarantine(ctx, events.Quarantined{Firm: w.firms[i], Job: w.id(), At: w.now, Reason: "no list", Raw: []byte("canary")}))
	}
}

// The role that counts sees numbers alone: it may ask for nothing else of the tables
// that it counts, and writes to none of them.
func TestWorkerSeesNumbersAlone(t *testing.T) {
	w := newWorld(t)
	w.photos()
	w.phones()
	w.rest()
	for _, statement := range []string{
		`SELECT firm FROM photo`, `SELECT sha256 FROM photo`, `SELECT reason FROM photo`, `SELECT * FROM photo`,
		`SELECT device FROM phone`, `SELECT report FROM phone`, `SELECT seen FROM phone`, `SELECT firm FROM phone`,
		`SELECT body FROM job_summary`, `SELECT job FROM job_summary`, `SELECT bytes FROM quarantine`, `SELECT reason FROM quarantine`,
		`SELECT why FROM checkpoint_fault`, `SELECT job FROM checkpoint_fault`,
		`UPDATE photo SET state = 'durable'`, `DELETE FROM phone`, `DELETE FROM quarantine`, `DELETE FROM job_summary`,
	} {
		if _, err := w.worker.Pool().Exec(t.Context(), statement); pgdb.Code(err) != "42501" {
			t.Errorf("%s: %v, want it refused", statement, err)
		}
	}
	var durable, sent int
	row := w.worker.Pool().QueryRow(t.Context(), `SELECT (SELECT count(state) FROM photo WHERE state = 'durable'), (SELECT count(lost) FROM phone WHERE lost = 0 AND oldest_unsent_at IS NULL)`)
	w.must(row.Scan(&durable, &sent))
	if durable+sent > 0 {
		t.Errorf("rows are seen of which nothing is the matter: %d photos, %d phones", durable, sent)
	}
}

// What is counted of tables that grow without end is found by an index.
func TestCountUsesIndexes(t *testing.T) {
	w := newWorld(t)
	conn := w.db.Connect(pgdb.Worker)
	for statement, index := range map[string]string{
		`SELECT state, at, damaged FROM photo WHERE state <> 'durable' LIMIT 100000`: "photo_unsafe",
		`SELECT doubts FROM job_summary WHERE doubts > 0 LIMIT 100000`:               "job_summary_doubts",
	} {
		if plan := explain(t.Context(), t, conn, statement); !strings.Contains(plan, index) {
			t.Errorf("%s\n%s", statement, plan)
		}
	}
}

// explain says how a statement is answered when reading whole tables is made dear.
func explain(ctx context.Context, t *testing.T, conn *pgx.Conn, statement string) string {
	t.Helper()
	if _, err := conn.Exec(ctx, `SET enable_seqscan = off`); err != nil {
		t.Fatal(err)
	}
	rows, err := conn.Query(ctx, `EXPLAIN `+statement)
	if err != nil {
		t.Fatal(err)
	}
	lines, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(lines, "\n")
}
