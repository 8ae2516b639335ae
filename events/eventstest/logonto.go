package eventstest

import (
	"errors"
	"sync"
	"testing"

	"relevel/events"
)

// onto appends what was decided after so many events.
func (l *logTest) onto(n int64, batch ...events.Incoming) (events.Receipt, error) {
	b := BatchOf(l.firm, l.job, batch...)
	b.Onto = &n
	return l.log.Append(l.Context(), b)
}

// What was decided on a log that has moved on is not stored; repeating what was
// stored is no conflict.
func logOnto(t *testing.T, l *logTest) {
	first := l.make.Note(l.job)
	for _, n := range []int64{1, -1} {
		if _, err := l.onto(n, first); !errors.Is(err, events.ErrConflict) {
			t.Errorf("onto %d of an empty log: %v, want ErrConflict", n, err)
		}
	}
	receipt, err := l.onto(0, first)
	if err != nil {
		t.Fatal(err)
	}
	wantOutcomes(t, receipt, "stored 1")
	if receipt, err = l.onto(0, first); err != nil {
		t.Fatal(err)
	}
	wantOutcomes(t, receipt, "repeated 1")
	l.append(l.make.Note(l.job))
	if _, err := l.onto(1, first, l.make.Note(l.job)); !errors.Is(err, events.ErrConflict) {
		t.Errorf("onto 1 of 2: %v, want ErrConflict", err)
	}
	logOntoAtOnce(t, l)
	l.wantWhole(l.firm, l.job)
}

// Of several who decide at once on the same log one is heard.
func logOntoAtOnce(t *testing.T, l *logTest) {
	const many = 8
	var all sync.WaitGroup
	answers := make(chan error, many)
	for range many {
		e := l.make.Note(l.job)
		all.Go(func() {
			_, err := l.onto(2, e)
			answers <- err
		})
	}
	all.Wait()
	close(answers)
	heard := 0
	for err := range answers {
		switch {
		case err == nil:
			heard++
		case !errors.Is(err, events.ErrConflict):
			t.Error(err)
		}
	}
	if heard != 1 {
		t.Errorf("%d of %d decided on the same log were stored, want 1", heard, many)
	}
}
