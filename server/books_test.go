package server

import (
	"fmt"
	"log/slog"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/jobs"
)

// A server that read a record just before it was erased writes its words just after. The
// record that says what was erased has the book read anew, and the words are gone.
func TestWordsOfWhatWasErased(t *testing.T) {
	states, key := newTestStates(t)
	log, store := states.log.(*eventstest.MemLog), states.jobs.(jobs.Books)
	b := newBooks(log, states, store, slog.New(slog.DiscardHandler))
	seq := int64(0)
	post := func(kind events.Kind, body string) {
		t.Helper()
		seq++
		in, err := events.Receive(fmt.Appendf(nil, `{"id":"00000000-0000-7000-8000-00000000000%d","job":"%s","kind":"%s","v":1,"at":"2026-03-02T10:15:00Z","device":"00000000-0000-7000-8000-0000000000aa","device_seq":%d,"seen_seq":0,"body":%s}`, seq, key.job, kind, seq, body))
		if err != nil {
			t.Fatal(err)
		}
		_, err = log.Append(t.Context(), events.Batch{Firm: key.firm, Job: key.job, RecordedAt: time.Now(), Events: []events.Incoming{in}})
		if err != nil {
			t.Fatal(err)
		}
	}
	found := func() int {
		t.Helper()
		if err := b.read(t.Context(), key); err != nil {
			t.Fatal(err)
		}
		all, err := store.SearchBooks(t.Context(), key.firm, jobs.Search{Terms: []jobs.Term{{Word: "wombat"}}, Limit: 10})
		if err != nil {
			t.Fatal(err)
		}
		return len(all)
	}
	post("note", `{"text":"a neighbour called wombat"}`)
	if n := found(); n != 1 {
		t.Fatalf("%d lines have the word, want 1", n)
	}
	log.Erase(key.firm, key.job, 1)
	post(events.KindErased, `{"records":[1],"why":"a neighbour asked"}`)
	if n := found(); n != 0 {
		t.Errorf("%d lines have the word of what was erased", n)
	}
}
