package pglog_test

import (
	"sync"
	"testing"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
)

// Appends to many jobs of a firm share statements. A repeat, another event
// under a used id and a job without a log among them touch nobody else.
func TestTogether(t *testing.T) {
	db := pgtest.New(t)
	log := pglog.New(db.App)
	firm := eventstest.NewFirm(t)
	const n, rounds = 12, 15
	jobs := make([]*job, n)
	for i := range jobs {
		jobs[i] = newJob(t, db)
		jobs[i].firm = firm
		if err := log.Create(t.Context(), firm, jobs[i].id); err != nil {
			t.Fatal(err)
		}
	}
	nobody := eventstest.NewFirm(t)
	var wg sync.WaitGroup
	for i, j := range jobs {
		wg.Go(func() { appendAwkwardly(t, log, j, i, rounds, nobody) })
	}
	wg.Wait()
	for _, j := range jobs {
		if all := j.check(log); len(all) != rounds {
			t.Errorf("%d events, want %d", len(all), rounds)
		}
	}
}

func appendAwkwardly(t *testing.T, log events.Log, j *job, i, rounds int, nobody events.ID) {
	for round := range rounds {
		e := j.make.Note(j.id)
		want := []events.Incoming{e}
		if (round+i)%4 == 0 { // the same id again, once with the same and once with other bytes
			want = append(want, e, j.make.EventID(e.Event.ID, j.id, events.KindNote, `{"text":"other"}`))
		}
		for k, in := range want {
			r, err := log.Append(t.Context(), eventstest.BatchOf(j.firm, j.id, in))
			if err != nil {
				t.Error(err)
				return
			}
			outcomes := []events.Outcome{events.WasStored, events.WasRepeated, events.WasQuarantined}
			if r.Results[0].Outcome != outcomes[k] {
				t.Errorf("%+v, want %s", r.Results[0], outcomes[k])
			}
		}
		if _, err := log.Append(t.Context(), eventstest.BatchOf(j.firm, nobody, j.make.Note(nobody))); err == nil {
			t.Error("a job without a log took an event")
		}
	}
}
