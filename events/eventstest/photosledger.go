package eventstest

import (
	"crypto/rand"
	"errors"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"relevel/events"
)

// Ledger checks that a ledger keeps the contract of events.Ledger. Open gives a
// ledger and a way to have firms in it.
func Ledger(t *testing.T, open func(t *testing.T) (events.Ledger, func() events.ID)) {
	tests := map[string]func(*testing.T, events.Ledger, func() events.ID){
		"RecordOK":         ledgerRecordOK,
		"NeverLowers":      ledgerNeverLowers,
		"FirmsApart":       ledgerFirmsApart,
		"Change":           ledgerChange,
		"ChangeOvertaken":  ledgerChangeOvertaken,
		"ConcurrentRecord": ledgerConcurrentRecord,
		"FindAll":          ledgerFindAll,
		"Oldest":           ledgerOldest,
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			l, newFirm := open(t)
			test(t, l, newFirm)
		})
	}
}

var ledgerStart = time.Date(2026, 3, 2, 10, 15, 0, 250e6, time.UTC)

func newKept(firm events.ID) events.Kept {
	k := events.Kept{
		Firm: firm, Type: events.Photo, Bytes: 4711, Media: events.MediaJPEG,
		State: events.FileReceived, At: ledgerStart,
	}
	rand.Read(k.SHA256[:])
	return k
}

// at returns k as it is in a state, some seconds later.
func at(k events.Kept, s events.FileState, seconds int) events.Kept {
	k.State, k.At = s, k.At.Add(time.Duration(seconds)*time.Second)
	return k
}

func ledgerRecordOK(t *testing.T, l events.Ledger, newFirm func() events.ID) {
	k := newKept(newFirm())
	if _, err := l.Find(t.Context(), k.Firm, k.SHA256); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("Find before Record = %v, want ErrNotFound", err)
	}
	sound := newKept(k.Firm)
	sound.Type, sound.Media = events.Sound, events.MediaWebM
	for _, k := range []events.Kept{k, at(k, events.FileStored, 1), at(k, events.FileDurable, 2), sound} {
		mustRecord(t, l, k)
		wantKept(t, l, k)
	}
}

// Those of some files that are there are found at once, whatever else is asked
// for, and nothing of another firm.
func ledgerFindAll(t *testing.T, l events.Ledger, newFirm func() events.ID) {
	firm := newFirm()
	one, two, missing, others := newKept(firm), newKept(firm), newKept(firm), newKept(newFirm())
	for _, k := range []events.Kept{one, two, newKept(firm), others} {
		mustRecord(t, l, k)
	}
	found, err := l.FindAll(t.Context(), firm, []events.Digest{one.SHA256, missing.SHA256, two.SHA256, one.SHA256, others.SHA256})
	if err != nil {
		t.Fatal(err)
	}
	got, want := map[events.Digest]events.Kept{}, map[events.Digest]events.Kept{one.SHA256: one, two.SHA256: two}
	for _, k := range found {
		got[k.SHA256] = k
	}
	if diff := cmp.Diff(want, got); diff != "" || len(found) != len(want) {
		t.Errorf("FindAll: %d entries, %s", len(found), diff)
	}
	if found, err := l.FindAll(t.Context(), firm, nil); err != nil || len(found) > 0 {
		t.Errorf("FindAll of no files = %v, %v", found, err)
	}
}

func ledgerNeverLowers(t *testing.T, l events.Ledger, newFirm func() events.ID) {
	k := at(newKept(newFirm()), events.FileDurable, 0)
	mustRecord(t, l, k)
	mustRecord(t, l, at(k, events.FileStored, 5))
	mustRecord(t, l, at(k, events.FileReceived, 6))
	mustRecord(t, l, at(k, events.FileDurable, 7)) // the same state is not a higher one
	wantKept(t, l, k)
}

func ledgerFirmsApart(t *testing.T, l events.Ledger, newFirm func() events.ID) {
	k := newKept(newFirm())
	mustRecord(t, l, at(k, events.FileDurable, 0))
	other := k
	other.Firm = newFirm()
	if _, err := l.Find(t.Context(), other.Firm, k.SHA256); !errors.Is(err, events.ErrNotFound) {
		t.Errorf("Find for another firm = %v, want ErrNotFound", err)
	}
	mustRecord(t, l, other)
	wantKept(t, l, other)
	wantKept(t, l, at(k, events.FileDurable, 0))
	q := events.KeptQuery{Firm: other.Firm, State: events.FileDurable, Before: ledgerStart.Add(time.Hour), Limit: 10}
	if got, err := l.Oldest(t.Context(), q); err != nil || len(got) != 0 {
		t.Errorf("Oldest for another firm = %v, %v; want none", got, err)
	}
}

func ledgerChange(t *testing.T, l events.Ledger, newFirm func() events.ID) {
	was := at(newKept(newFirm()), events.FileStored, 0)
	mustRecord(t, l, was)
	up := at(was, events.FileDurable, 60)
	down := at(up, events.FileReceived, 60)
	down.Reason = "it read back differently"
	for _, now := range []events.Kept{up, down} {
		if err := l.Change(t.Context(), was, now); err != nil {
			t.Fatalf("Change to %s: %v", now.State, err)
		}
		wantKept(t, l, now)
		was = now
	}
	again := at(newKept(was.Firm), events.FileStored, 300)
	again.SHA256 = was.SHA256
	mustRecord(t, l, again)
	wantKept(t, l, again) // and the reason is gone
}

func ledgerChangeOvertaken(t *testing.T, l events.Ledger, newFirm func() events.ID) {
	was := at(newKept(newFirm()), events.FileStored, 0)
	now := at(was, events.FileDurable, 60)
	if err := l.Change(t.Context(), was, now); !errors.Is(err, events.ErrConflict) {
		t.Errorf("Change of an entry that is not there = %v, want ErrConflict", err)
	}
	mustRecord(t, l, was)
	for name, stale := range map[string]events.Kept{
		"time":  at(was, events.FileStored, -1),
		"state": at(was, events.FileReceived, 0),
	} {
		if err := l.Change(t.Context(), stale, now); !errors.Is(err, events.ErrConflict) {
			t.Errorf("Change with an old %s = %v, want ErrConflict", name, err)
		}
	}
	wantKept(t, l, was)
}

func ledgerConcurrentRecord(t *testing.T, l events.Ledger, newFirm func() events.ID) {
	k := newKept(newFirm())
	var wg sync.WaitGroup
	for i, s := range []events.FileState{events.FileReceived, events.FileStored, events.FileDurable, events.FileReceived, events.FileStored} {
		wg.Go(func() {
			if err := l.Record(t.Context(), at(k, s, i)); err != nil {
				t.Errorf("Record %s: %v", s, err)
			}
		})
	}
	wg.Wait()
	wantKept(t, l, at(k, events.FileDurable, 2))
}

func ledgerOldest(t *testing.T, l events.Ledger, newFirm func() events.ID) {
	firm := newFirm()
	var stored []events.Kept
	for i := range 4 {
		k := at(newKept(firm), events.FileStored, 10*i)
		stored = append(stored, k)
	}
	for _, i := range []int{2, 0, 3, 1} {
		mustRecord(t, l, stored[i])
	}
	mustRecord(t, l, at(newKept(firm), events.FileDurable, -100))
	mustRecord(t, l, at(newKept(firm), events.FileReceived, -100))

	tests := map[string]struct {
		before, limit int
		want          []events.Kept
	}{
		"all":      {before: 1000, limit: 10, want: stored},
		"limit":    {before: 1000, limit: 2, want: stored[:2]},
		"before":   {before: 20, limit: 10, want: stored[:2]},
		"none yet": {before: 0, limit: 10},
	}
	for name, test := range tests {
		got, err := l.Oldest(t.Context(), events.KeptQuery{
			Firm: firm, State: events.FileStored, Limit: test.limit,
			Before: ledgerStart.Add(time.Duration(test.before) * time.Second),
		})
		if err != nil {
			t.Fatalf("%s: Oldest: %v", name, err)
		}
		if diff := cmp.Diff(len(test.want), len(got)); diff != "" {
			t.Errorf("%s: number (-want +got):\n%s", name, diff)
		} else if len(got) > 0 && !cmp.Equal(test.want, got) {
			t.Errorf("%s (-want +got):\n%s", name, cmp.Diff(test.want, got))
		}
	}
}

func mustRecord(t *testing.T, l events.Ledger, k events.Kept) {
	t.Helper()
	if err := l.Record(t.Context(), k); err != nil {
		t.Fatalf("Record %s: %v", k.State, err)
	}
}

func wantKept(t *testing.T, l events.Ledger, want events.Kept) {
	t.Helper()
	got, err := l.Find(t.Context(), want.Firm, want.SHA256)
	if err != nil {
		t.Fatalf("Find: %v", err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("entry (-want +got):\n%s", diff)
	}
}
