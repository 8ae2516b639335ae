package pgtasks_test

import (
	"crypto/rand"
	"strconv"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
	"relevel/server/tasks"
	"relevel/server/tasks/pgtasks"
	"relevel/server/tasks/taskstest"
)

func TestQueue(t *testing.T) {
	taskstest.Queue(t, func(t *testing.T) tasks.Queue {
		db := pgtest.New(t)
		return pgtasks.New(db.App, db.Open(pgdb.Worker), time.Now, rand.Reader)
	})
}

// The suite holds where every transaction is run twice, the worker's as well.
func TestLosing(t *testing.T) {
	var lost int64
	taskstest.Queue(t, func(t *testing.T) tasks.Queue {
		l := pgtest.NewLosing(t, pgtest.New(t))
		t.Cleanup(func() { lost += l.Lost() })
		return pgtasks.New(l.App, l.Open(pgdb.Worker), time.Now, rand.Reader)
	})
	if lost < 10 {
		t.Errorf("%d transactions lost: nothing was tested", lost)
	}
}

// A planner that takes the table for empty has looked for what is due once for each of
// its rows: no more is claimed for that.
func TestClaimsNoMoreThanAsked(t *testing.T) {
	db := pgtest.New(t)
	q := pgtasks.New(db.App, db.Open(pgdb.Worker), time.Now, rand.Reader)
	start := time.Now().Add(-time.Hour)
	add := func(n int) {
		if err := q.Add(t.Context(), events.ID{1}, tasks.Task{Kind: "a", Ref: strconv.Itoa(n), Due: start}); err != nil {
			t.Fatal(err)
		}
	}
	add(0)
	if _, err := db.Connect(pgdb.Owner).Exec(t.Context(), `VACUUM (ANALYZE) task`); err != nil {
		t.Fatal(err)
	}
	for n := range 20 {
		add(n + 1)
	}
	got, err := q.Claim(t.Context(), tasks.Claim{Now: time.Now(), Until: time.Now().Add(time.Minute), Kinds: []string{"a"}, Limit: 2})
	if err != nil || len(got) != 2 {
		t.Errorf("%d tasks are claimed, %v; want 2", len(got), err)
	}
}

// The worker sees how far every log goes, whose ever it is.
func TestHeads(t *testing.T) {
	db := pgtest.New(t)
	q, log := pgtasks.New(db.App, db.Open(pgdb.Worker), time.Now, rand.Reader), pglog.New(db.App)
	for i := range 2 {
		firm, job := events.ID{byte(i + 1)}, events.ID{7}
		if err := log.Create(t.Context(), firm, job); err != nil {
			t.Fatal(err)
		}
		if i == 0 {
			continue // nothing was recorded there
		}
		raw := []byte(`{"id":"00000000-0000-7000-8000-000000000001","job":"` + job.String() + `","kind":"note","v":1,"at":"2026-03-02T10:15:00Z","device":"00000000-0000-7000-8000-000000000002","device_seq":1,"seen_seq":0,"by":"","body":{}}`)
		in, err := events.Receive(raw)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := log.Append(t.Context(), events.Batch{Firm: firm, Job: job, RecordedAt: time.Now(), Events: []events.Incoming{in}}); err != nil {
			t.Fatal(err)
		}
	}
	heads, err := q.Heads(t.Context())
	if err != nil || len(heads) != 1 || heads[0].Firm != (events.ID{2}) || heads[0].Seq != 1 {
		t.Errorf("%v: %+v", err, heads)
	}
}

// A connection that died without a word is an error soon, and the next one works.
func TestSilentConnection(t *testing.T) {
	t.Cleanup(pgtasks.AnswerWithin(2 * time.Second))
	db := pgtest.New(t)
	w := newSilence(t, db.DSN(pgdb.Worker))
	worker, err := pgdb.Open(t.Context(), w.dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(worker.Close)
	q := pgtasks.New(db.App, worker, time.Now, rand.Reader)
	claim := tasks.Claim{Now: time.Now(), Until: time.Now().Add(time.Minute), Kinds: []string{"a"}, Limit: 1}
	if _, err := q.Claim(t.Context(), claim); err != nil {
		t.Fatal(err)
	}
	w.silent.Store(true)
	ended := make(chan error, 2)
	go func() { _, err := q.Claim(t.Context(), claim); ended <- err }()
	go func() { _, err := q.Heads(t.Context()); ended <- err }()
	for range 2 {
		select {
		case err := <-ended:
			if err == nil {
				t.Error("nobody answered, and there was no error")
			}
		case <-time.After(time.Minute):
			t.Fatal("it waits for an answer that does not come")
		}
	}
	w.silent.Store(false)
	if _, err := q.Claim(t.Context(), claim); err != nil {
		t.Errorf("after it: %v", err)
	}
}
