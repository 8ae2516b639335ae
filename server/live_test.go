package server

import (
	"context"
	"strings"
	"testing"
	"time"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/jobs"
	"relevel/jobs/jobstest"
)

// newTestStates returns the states of one firm with one job.
func newTestStates(t *testing.T) (*states, jobKey) {
	t.Helper()
	store, log := jobstest.NewMemory(), eventstest.NewMemLog()
	key := jobKey{events.ID{1}, events.ID{2}}
	for _, err := range []error{
		store.CreateFirm(t.Context(), jobs.Firm{ID: key.firm, Name: "Level Best", Words: jobs.Australia}),
		store.CreateJob(t.Context(), jobs.Job{Firm: key.firm, ID: key.job, Name: "14 Wattle Street", Zone: "UTC"}),
		log.Create(t.Context(), key.firm, key.job),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	return newStates(log, store, 4), key
}

// A bug in the fold costs one answer; the next one reads the log anew.
func TestFoldPanics(t *testing.T) {
	s, key := newTestStates(t)
	err := s.use(t.Context(), key, func(*jobs.State) { panic("a bug") })
	if err == nil || !strings.Contains(err.Error(), "a bug") {
		t.Errorf("use = %v, want the bug", err)
	}
	if err := s.use(t.Context(), key, func(*jobs.State) {}); err != nil {
		t.Errorf("afterwards: %v", err)
	}
}

// Whoever waits for a state that somebody works on can give up.
func TestStateBusy(t *testing.T) {
	s, key := newTestStates(t)
	busy, done := make(chan struct{}), make(chan struct{})
	go s.use(context.Background(), key, func(*jobs.State) { close(busy); <-done })
	<-busy
	defer close(done)
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Millisecond)
	defer cancel()
	if err := s.use(ctx, key, func(*jobs.State) {}); problemOf(err).Status != 503 {
		t.Errorf("use = %v, want one that can be tried again", err)
	}
}
