package pglog_test

import (
	"testing"

	"relevel/events/eventstest"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
)

// Which way appends went is counted: the first of a job looks at its head, the next
// suppose it, and one that supposed a head which another server has moved on is slow.
func TestCounts(t *testing.T) {
	j := newJob(t, pgtest.New(t))
	here, there := pglog.New(j.db.App), pglog.New(j.db.App)
	for i, log := range []*pglog.Log{here, here, here, there, here} {
		if _, err := log.Append(t.Context(), eventstest.BatchOf(j.firm, j.id, j.make.Note(j.id))); err != nil {
			t.Fatalf("append %d: %v", i, err)
		}
	}
	if got, want := here.Counts(), (pglog.Counts{Fast: 2, Slow: 2, Moved: 1, Flushes: 3}); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	if got, want := there.Counts(), (pglog.Counts{Slow: 1}); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
}
