package jobstest

import (
	"context"
	"crypto/sha256"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"relevel/events"
	"relevel/jobs"
)

// TakeTry implements jobs.Tries.
func (m *Memory) TakeTry(ctx context.Context, of events.Digest, pace jobs.Pace, now time.Time) (may bool, err error) {
	err = m.call(ctx, "TakeTry", func() error {
		over, ok := pace.Take(m.tries[of], now)
		if may = ok; may {
			m.tries[of] = over
		}
		return nil
	})
	return may, err
}

// ForgetTries implements jobs.Tries.
func (m *Memory) ForgetTries(ctx context.Context, now time.Time) error {
	return m.call(ctx, "ForgetTries", func() error {
		for of, over := range m.tries {
			if !over.After(now) {
				delete(m.tries, of)
			}
		}
		return nil
	})
}

// newTried is something that nobody tried yet.
func newTried(t *testing.T) events.Digest {
	id := newID(t)
	return sha256.Sum256(id[:])
}

func triesOK(t *testing.T, s jobs.Store) {
	of, pace, now := newTried(t), jobs.Pace{Burst: 3, Every: 10 * time.Second}, start
	try := func(at time.Duration, expected bool) {
		t.Helper()
		may, err := s.TakeTry(t.Context(), of, pace, now.Add(at))
		want(t, "TakeTry after "+at.String(), may, err, expected)
	}
	for range 3 {
		try(0, true)
	}
	try(0, false)
	try(9*time.Second, false)
	try(10*time.Second, true) // those that might not be made did not count
	try(10*time.Second, false)

	must(t, s.ForgetTries(t.Context(), now.Add(30*time.Second)))
	try(30*time.Second, true) // it is over at 40 s: not forgotten
	try(30*time.Second, true)
	try(30*time.Second, false)

	must(t, s.ForgetTries(t.Context(), now.Add(time.Minute)))
	for range 3 {
		try(time.Minute, true)
	}
	try(time.Minute, false)
	other, err := s.TakeTry(t.Context(), newTried(t), pace, now.Add(time.Minute))
	want(t, "TakeTry of something else", other, err, true)
}

// However many try at once, from however many servers, no more may than the pace says.
func triesAtOnce(t *testing.T, s jobs.Store) {
	of, pace, now := newTried(t), jobs.Pace{Burst: 5, Every: time.Minute}, start
	var made atomic.Int32
	var all sync.WaitGroup
	for range 20 {
		all.Go(func() {
			may, err := s.TakeTry(t.Context(), of, pace, now)
			if err != nil {
				t.Error(err)
			}
			if may {
				made.Add(1)
			}
			if err := s.ForgetTries(t.Context(), now); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	want(t, "TakeTry at once", made.Load(), nil, 5)
}
