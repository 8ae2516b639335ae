package tasks_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"relevel/events"
	"relevel/server/tasks"
	"relevel/server/tasks/taskstest"
	"relevel/server/watch"
)

func TestMemory(t *testing.T) {
	taskstest.Queue(t, func(*testing.T) tasks.Queue { return tasks.NewMemory() })
}

// three attempts, an hour apart.
func three(attempts int) (time.Duration, bool) { return time.Hour, attempts < 3 }

func add(t *testing.T, q tasks.Queue, firm byte, ref string) {
	t.Helper()
	if err := q.Add(t.Context(), events.ID{firm}, tasks.Task{Kind: "a", Ref: ref, Due: time.Now()}); err != nil {
		t.Fatal(err)
	}
}

// run runs a runner until stop is called, which waits for its end.
func run(q tasks.Queue, h tasks.Handler, change func(*tasks.Config)) (stop func()) {
	c := tasks.Config{Queue: q, Handlers: map[string]tasks.Handler{"a": h}}
	if change != nil {
		change(&c)
	}
	ctx, cancel := context.WithCancel(context.Background())
	var ended sync.WaitGroup
	ended.Go(func() { tasks.NewRunner(c).Run(ctx) })
	return func() { cancel(); ended.Wait() }
}

func TestRunnerDoesWhatIsDue(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		q, done := tasks.NewMemory(), make(chan string, 9)
		stop := run(q, tasks.Handler{Do: func(_ context.Context, t tasks.Task) error { done <- t.Ref; return nil }, Backoff: three}, nil)
		defer stop()
		add(t, q, 1, "1")
		if got := <-done; got != "1" {
			t.Errorf("%q", got)
		}
		time.Sleep(time.Minute)
		if n := len(done); n > 0 {
			t.Errorf("it was done %d times more", n)
		}
	})
}

// A task that fails, or panics, is tried so many times, each later, and is then dead.
func TestRunnerGivesUp(t *testing.T) {
	for name, fail := range map[string]func() error{
		"Error": func() error { return errors.New("no answer") },
		"Panic": func() error { panic("a bug") },
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				q := tasks.NewMemory()
				var tries, told atomic.Int32
				stop := run(q, tasks.Handler{
					Do:      func(context.Context, tasks.Task) error { tries.Add(1); return fail() },
					Backoff: three,
					Buried:  func(context.Context, tasks.Task, string) error { told.Add(1); return nil },
				}, nil)
				defer stop()
				begin := time.Now()
				add(t, q, 1, "1")
				for tries.Load() < 3 {
					time.Sleep(time.Minute)
				}
				if took := time.Since(begin); took < 90*time.Minute || took > 3*time.Hour {
					t.Errorf("three attempts in %v, want an hour or so between", took)
				}
				time.Sleep(24 * time.Hour)
				dead, err := q.Dead(t.Context(), events.ID{1})
				if err != nil || tries.Load() != 3 || told.Load() != 1 || len(dead) != 1 {
					t.Errorf("%v: tried %d times, told %d times, %d dead", err, tries.Load(), told.Load(), len(dead))
				}
			})
		})
	}
}

// A crash in the middle of a task counts as an attempt: what brings servers down is
// buried too.
func TestPoisonIsBuriedBeforeItIsTriedForEver(t *testing.T) {
	q := tasks.NewMemory()
	add(t, q, 1, "1")
	now := time.Now().Add(time.Second)
	for range 3 { // servers that took it and are gone
		if got, err := q.Claim(t.Context(), tasks.Claim{Now: now, Until: now.Add(time.Minute), Kinds: []string{"a"}, Limit: 1}); err != nil || len(got) != 1 {
			t.Fatalf("%v: %v", err, got)
		}
		now = now.Add(time.Hour)
	}
	got, err := q.Claim(t.Context(), tasks.Claim{Now: now, Until: now.Add(time.Minute), Kinds: []string{"a"}, Limit: 1})
	if err != nil || got[0].Attempts != 4 {
		t.Fatalf("%v: %+v, want the fourth attempt", err, got)
	}
	if _, again := three(got[0].Attempts); again {
		t.Error("it is tried for ever")
	}
}

// highest keeps the greatest of what many goroutines see.
type highest struct {
	mu   sync.Mutex
	most int32
}

func (h *highest) see(n int32) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.most = max(h.most, n)
}

func (h *highest) load() int32 {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.most
}

// No more is done at once than there is room for, and one firm leaves half of it to
// others, also when it comes first and all of its tasks end at once.
func TestRunnerIsBounded(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		q := tasks.NewMemory()
		var now, others atomic.Int32
		most := highest{}
		slow := func(_ context.Context, task tasks.Task) error {
			most.see(now.Add(1))
			time.Sleep(time.Minute)
			now.Add(-1)
			if task.Firm == (events.ID{2}) {
				others.Add(1)
			}
			return nil
		}
		for i := range 20 {
			add(t, q, 1, fmt.Sprint(i))
		}
		stop := run(q, tasks.Handler{Do: slow, Backoff: three}, func(c *tasks.Config) { c.AtOnce = 4 })
		defer stop()
		time.Sleep(10 * time.Second)
		if most.load() != 2 {
			t.Errorf("%d of one firm at once, want half of 4", most.load())
		}
		for i := range 3 {
			add(t, q, 2, fmt.Sprint(i))
		}
		time.Sleep(80 * time.Second)
		if most.load() != 4 || others.Load() != 2 {
			t.Errorf("%d at once, want 4; the other firm's tasks done %d times, want 2", most.load(), others.Load())
		}
	})
}

// A lease is renewed while a task is done, so that no second runner takes it up.
func TestLeaseIsRenewed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		q := tasks.NewMemory()
		var done atomic.Int32
		slow := tasks.Handler{Do: func(context.Context, tasks.Task) error { time.Sleep(10 * time.Minute); done.Add(1); return nil }, Backoff: three}
		add(t, q, 1, "1")
		one, two := run(q, slow, nil), run(q, slow, nil)
		time.Sleep(time.Hour)
		one()
		two()
		if done.Load() != 1 {
			t.Errorf("done %d times", done.Load())
		}
	})
}

// A runner that is to end waits for what is being done, and gives back what takes too
// long; that is no attempt.
func TestRunnerEnds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		q := tasks.NewMemory()
		var finished atomic.Int32
		stop := run(q, tasks.Handler{Do: func(ctx context.Context, task tasks.Task) error {
			wait := time.Second
			if task.Ref == "long" {
				wait = time.Hour
			}
			select {
			case <-time.After(wait):
				finished.Add(1)
				return nil
			case <-ctx.Done():
				return ctx.Err()
			}
		}, Backoff: three}, nil)
		add(t, q, 1, "short")
		add(t, q, 2, "long")
		time.Sleep(5 * time.Second)
		add(t, q, 1, "short")
		time.Sleep(2*time.Second + time.Second/2)
		begin := time.Now()
		stop()
		if took := time.Since(begin); took > 11*time.Second || finished.Load() != 2 {
			t.Errorf("it ended after %v with %d done", took, finished.Load())
		}
		now := time.Now()
		left, err := q.Claim(t.Context(), tasks.Claim{Now: now, Until: now.Add(time.Minute), Kinds: []string{"a"}, Limit: 9})
		if err != nil || len(left) != 1 || left[0].Ref != "long" || left[0].Attempts != 1 {
			t.Errorf("%v: %+v, want the long one as if it was never tried", err, left)
		}
	})
}

// A handler that did a part goes on at once.
func TestMoreIsDueAtOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		q := tasks.NewMemory()
		var parts atomic.Int32
		stop := run(q, tasks.Handler{Do: func(context.Context, tasks.Task) error {
			if parts.Add(1) < 5 {
				return tasks.ErrMore
			}
			return nil
		}, Backoff: three}, nil)
		add(t, q, 1, "1")
		time.Sleep(20 * time.Second)
		stop()
		if parts.Load() != 5 {
			t.Errorf("%d parts were done, want 5", parts.Load())
		}
	})
}

// tried keeps how attempts ended.
type tried struct {
	watch.Unmetered
	ends chan watch.Outcome
}

func (m tried) Tried(_ string, end watch.Outcome, _ time.Duration) { m.ends <- end }

// How each attempt ended is counted, and its lines say which task it is.
func TestRunnerIsWatched(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		q, m := tasks.NewMemory(), tried{ends: make(chan watch.Outcome, 9)}
		var out bytes.Buffer
		log := slog.New(watch.Lines(slog.NewTextHandler(&out, nil)))
		n := 0
		do := func(ctx context.Context, _ tasks.Task) error {
			log.InfoContext(ctx, "at work")
			n++
			return []error{tasks.ErrMore, errors.New("no answer"), nil}[n-1]
		}
		stop := run(q, tasks.Handler{Do: do, Backoff: three}, func(c *tasks.Config) { c.Meter = m })
		add(t, q, 1, "1")
		for _, want := range []watch.Outcome{watch.More, watch.Failed, watch.Done} {
			if got := <-m.ends; got != want {
				t.Errorf("an attempt ended as %s, want %s", got, want)
			}
		}
		stop()
		for line := range strings.Lines(out.String()) {
			if !strings.Contains(line, "task=") || !strings.Contains(line, "kind=a") || !strings.Contains(line, "firm=01000000-") {
				t.Errorf("the line is %s", line)
			}
		}
	})
}

// awayQueue does not answer.
type awayQueue struct{ tasks.Queue }

func (awayQueue) Claim(context.Context, tasks.Claim) ([]tasks.Task, error) {
	return nil, events.ErrUnavailable
}

// A queue that does not answer is asked all the time, and told of once a minute.
func TestRunnerTellsSeldom(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var out bytes.Buffer
		stop := run(awayQueue{tasks.NewMemory()}, tasks.Handler{}, func(c *tasks.Config) { c.Logger = slog.New(slog.NewTextHandler(&out, nil)) })
		time.Sleep(5*time.Minute - time.Second)
		stop()
		if n := strings.Count(out.String(), "not claimed"); n < 4 || n > 5 {
			t.Errorf("it was told %d times in five minutes", n)
		}
	})
}
