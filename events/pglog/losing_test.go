package pglog_test

import (
	"testing"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/pgdb"
	"relevel/events/pgdb/pgtest"
	"relevel/events/pglog"
)

// The suites of the log and the ledger hold where every transaction is run twice.
func TestLosing(t *testing.T) {
	t.Parallel()
	l := pgtest.NewLosing(t, pgtest.New(t))
	t.Run("Log", func(t *testing.T) {
		eventstest.Log(t, func(*testing.T) events.Log { return pglog.New(l.App) })
	})
	t.Run("Ledger", func(t *testing.T) {
		eventstest.Ledger(t, func(t *testing.T) (events.Ledger, func() events.ID) {
			return pglog.NewLedger(l.App), func() events.ID { return eventstest.NewFirm(t) }
		})
	})
	t.Run("Restores", func(t *testing.T) {
		eventstest.Restores(t, func(*testing.T) eventstest.RestoringLog { return pglog.New(l.App) })
	})
	if l.Lost() < 100 {
		t.Errorf("%d transactions lost: nothing was tested", l.Lost())
	}
}

// A flush that lost counts for nothing: the head it had moved was moved on by another
// server since, so its events follow those.
func TestLostFlush(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	j, l := newJob(t, db), pgtest.NewLosing(t, db)
	here, there := pglog.New(l.App), pglog.New(db.App)
	l.Times(0)
	j.append(here, j.make.Note(j.id)) // which remembers the head
	l.Times(1)
	other := j.make.Note(j.id)
	l.Instead(func() {
		l.Instead(func() {})
		l.Times(0)
		j.append(there, other)
	})
	if got := j.append(here, j.make.Note(j.id)); got.Head.Seq != 3 || got.Results[0].Seq != 3 {
		t.Errorf("%+v, want it behind the two that are there", got)
	}
	if n := l.Lost(); n != 1 {
		t.Errorf("%d transactions lost, want one", n)
	}
	stored, err := there.Read(t.Context(), j.firm, j.id, 0, 10)
	if err != nil || len(stored) != 3 || stored[1].ID != other.Event.ID {
		t.Errorf("%d are stored, want 3: %v", len(stored), err)
	}
}

// What is erased is counted once.
func TestLosingEraser(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	j, l := newJob(t, db), pgtest.NewLosing(t, db)
	j.append(pglog.New(db.App), j.make.Note(j.id), j.make.Note(j.id))
	n, err := pglog.NewEraser(l.Open(pgdb.Eraser)).EraseRecords(t.Context(), j.firm, j.id, []int64{1, 2})
	if err != nil || n != 2 || l.Lost() != 1 {
		t.Errorf("%d were erased and %d transactions lost, want 2 and 1: %v", n, l.Lost(), err)
	}
}
