package pglog_test

import (
	"context"
	"sync"
	"syscall"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
)

// attempt is one batch that was sent, and its receipt if one came.
type attempt struct {
	batch   events.Batch
	receipt *events.Receipt
}

// Postgres is killed with -9 in the middle of appends, twice, and comes back.
// Every acknowledged event is there, numbers have no gap, and sending all
// batches once more adds nothing to what was acknowledged.
func TestPostgresKilled(t *testing.T) {
	db := pgtest.Own(t)
	log := pglog.New(db.App)
	jobs := make([]*job, 3)
	for i := range jobs {
		jobs[i] = newJob(t, db)
	}
	ctx, stop := context.WithTimeout(t.Context(), 30*time.Second)
	defer stop()
	all := make([][]attempt, 2*len(jobs)) // two writers a job
	var wg sync.WaitGroup
	for i := range all {
		wg.Go(func() { all[i] = write(ctx, log, jobs[i%len(jobs)]) })
	}
	for range 2 {
		time.Sleep(200 * time.Millisecond)
		killed := db.Server.PID()
		if err := syscall.Kill(killed, syscall.SIGKILL); err != nil {
			t.Error(err)
		}
		awaitBack(t, db, killed)
	}
	time.Sleep(100 * time.Millisecond)
	stop()
	wg.Wait()
	for i, attempts := range all {
		checkAttempts(t, log, jobs[i%len(jobs)], attempts)
	}
	for _, j := range jobs {
		j.check(log)
	}
}

// write appends until its context ends, a new batch each time whatever became
// of the last one.
func write(ctx context.Context, log events.Log, j *job) []attempt {
	maker := eventstest.NewMaker(j.t)
	var all []attempt
	for ctx.Err() == nil {
		a := attempt{batch: eventstest.BatchOf(j.firm, j.id, maker.Notes(j.id, 3)...)}
		if r, err := log.Append(ctx, a.batch); err == nil {
			a.receipt = &r
		}
		all = append(all, a)
	}
	return all
}

// awaitBack waits for another Postgres than the one that was killed: the
// connections of a dead postmaster still answer for a moment.
func awaitBack(t *testing.T, db *pgtest.DB, killed int) {
	t.Helper()
	for end := time.Now().Add(15 * time.Second); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if db.Server.PID() != killed && db.App.Ping(t.Context()) == nil {
			return
		}
	}
	t.Fatal("the database did not come back within 15 s")
}

func checkAttempts(t *testing.T, log events.Log, j *job, attempts []attempt) {
	t.Helper()
	acked, lost := 0, 0
	for _, a := range attempts {
		again, err := log.Append(t.Context(), a.batch)
		if err != nil {
			t.Fatal(err)
		}
		if a.receipt == nil {
			lost++
			continue
		}
		acked++
		for i, r := range a.receipt.Results {
			if got := again.Results[i]; got.Outcome != events.WasRepeated || got.Seq != r.Seq {
				t.Fatalf("acknowledged as number %d, and now %+v", r.Seq, got)
			}
		}
	}
	if acked == 0 || lost == 0 {
		t.Errorf("%d batches acknowledged and %d lost: the kill did not fall between appends", acked, lost)
	}
}
