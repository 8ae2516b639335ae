package eventstest

import (
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
)

// RestoringLog is a log into which records can be put back.
type RestoringLog interface {
	events.Log
	events.Restorer
}

// Restores is what every events.Restorer passes. Each call makes a log of its own.
func Restores(t *testing.T, fresh func(t *testing.T) RestoringLog) {
	from := NewMemLog()
	firm, job := NewFirm(t), NewFirm(t)
	m := NewMaker(t)
	if err := from.Create(t.Context(), firm, job); err != nil {
		t.Fatal(err)
	}
	if _, err := from.Append(t.Context(), BatchOf(firm, job, m.Notes(job, 7)...)); err != nil {
		t.Fatal(err)
	}
	from.Erase(firm, job, 3)
	records := readSome(t, from, firm, job)
	log := fresh(t)
	restore := func(list []events.Stored) error {
		_, err := log.Restore(t.Context(), firm, job, list)
		return err
	}
	if err := restore(records); !errors.Is(err, events.ErrNotFound) {
		t.Fatalf("into no log: %v", err)
	}
	if err := log.Create(t.Context(), firm, job); err != nil {
		t.Fatal(err)
	}
	if err := restore(records[1:]); !errors.Is(err, events.ErrConflict) {
		t.Errorf("without the first: %v", err)
	}
	for _, list := range [][]events.Stored{records[:4], records[2:], records, nil} {
		if err := restore(list); err != nil {
			t.Fatalf("%d records: %v", len(list), err)
		}
	}
	if diff := cmp.Diff(records, readSome(t, log, firm, job)); diff != "" {
		t.Errorf("(-put back +read):\n%s", diff)
	}
	was, _ := from.Head(t.Context(), firm, job)
	if now, err := log.Head(t.Context(), firm, job); err != nil || !cmp.Equal(was, now) {
		t.Errorf("the head is %+v, %v, want %+v", now, err, was)
	}
	other := append([]events.Stored(nil), records...)
	other[5].Leaf[0] ^= 1
	if err := restore(other); err == nil {
		t.Error("a record that does not give its leaf was put back")
	}
	// It goes on as any log does, and knows what it has.
	again := m.Raw(string(records[6].Raw))
	r, err := log.Append(t.Context(), BatchOf(firm, job, again, m.Note(job)))
	if err != nil || r.Results[0].Outcome != events.WasRepeated || r.Head.Seq != 8 {
		t.Errorf("%+v, %v", r, err)
	}
	if err := restore(records); err != nil {
		t.Errorf("what is there already: %v", err)
	}
}

func readSome(t *testing.T, log events.Log, firm, job events.ID) []events.Stored {
	t.Helper()
	all, err := log.Read(t.Context(), firm, job, 0, 100)
	if err != nil {
		t.Fatal(err)
	}
	return all
}
