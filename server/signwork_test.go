package server

import (
	"testing"
	"time"

	"relevel/events"
	"relevel/server/tasks"
)

// However long a store was away, heads are signed soon after it is back.
func TestSignLater(t *testing.T) {
	for attempts := 1; attempts < 100; attempts++ {
		wait, again := signLater(attempts)
		if !again || wait < time.Second || wait > 30*time.Second {
			t.Errorf("after %d attempts: %s, %t", attempts, wait, again)
		}
	}
}

// A clock that was an hour ahead for a moment keeps nothing from being signed.
func TestSignedAfterAClockWasSetBack(t *testing.T) {
	began := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	now := began.Add(time.Hour)
	queue := tasks.NewMemory()
	w := &signWork{
		queue: ownQueue{queue}, now: func() time.Time { return now }, pause: time.Second,
		due: map[jobKey]bool{}, queued: map[jobKey]time.Time{},
	}
	key := jobKey{events.ID{1}, events.ID{2}}
	for range 2 {
		w.due[key] = true
		if !w.addDue(t.Context()) {
			t.Fatal("the task was not added")
		}
		now = began
	}
	soon := began.Add(time.Minute)
	claimed, err := queue.Claim(t.Context(), tasks.Claim{Now: soon, Until: soon.Add(time.Minute), Kinds: []string{signKind}, Limit: 1})
	if err != nil || len(claimed) != 1 {
		t.Errorf("%d tasks are due, %v, want that of the job", len(claimed), err)
	}
}
