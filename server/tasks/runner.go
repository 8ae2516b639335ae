package tasks

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"runtime/debug"
	"sync"
	"time"

	"relevel/events"
	"relevel/server/watch"
)

// Handler does the tasks of one kind.
type Handler struct {
	// Do does a task. It may be done again, after an error, a crash, or a lease
	// that ran out: so it is to be repeatable. It returns soon after ctx ends.
	Do func(ctx context.Context, t Task) error

	// Backoff says how long to wait after so many attempts; false ends them.
	Backoff func(attempts int) (wait time.Duration, again bool)

	// Buried, if it is set, is told of a task that is not tried again.
	Buried func(ctx context.Context, t Task, reason string) error
}

// ErrMore says that a handler did a part, and that the rest is due at once.
var ErrMore = errors.New("there is more to do")

// Config is what a Runner works with. Queue and Handlers are required; what else is
// left empty gets its usual value.
type Config struct {
	Queue    Queue
	Handlers map[string]Handler // by kind
	Now      func() time.Time
	Logger   *slog.Logger
	Meter    watch.Meter
	Tracer   watch.Tracer
	AtOnce   int           // tasks that are done at the same time
	Lease    time.Duration // renewed while a task is done
	Poll     time.Duration // between two looks at the queue, when nobody wakes it
	Drain    time.Duration // for what is being done when the runner is to end
}

func (c Config) withDefaults() Config {
	if c.Now == nil {
		c.Now = time.Now
	}
	if c.Logger == nil {
		c.Logger = slog.New(slog.DiscardHandler)
	}
	if c.Meter == nil {
		c.Meter = watch.Unmetered{}
	}
	if c.Tracer == nil {
		c.Tracer = watch.Untraced{}
	}
	if c.AtOnce == 0 {
		c.AtOnce = 8
	}
	if c.Lease == 0 {
		c.Lease = 30 * time.Second
	}
	if c.Poll == 0 {
		c.Poll = 2 * time.Second
	}
	if c.Drain == 0 {
		c.Drain = 10 * time.Second
	}
	return c
}

// Runner claims tasks and does them, a bounded number at once and of one firm no more
// than half of those. Several may work on one queue.
type Runner struct {
	config Config
	kinds  []string
	wake   chan struct{} // holds one

	told time.Time // when it was said last that the queue does not answer

	mu      sync.Mutex
	doing   map[events.ID]int // tasks, by firm
	running sync.WaitGroup
}

// NewRunner makes a runner, which does nothing before Run.
func NewRunner(c Config) *Runner {
	r := &Runner{config: c.withDefaults(), wake: make(chan struct{}, 1), doing: map[events.ID]int{}}
	for kind := range c.Handlers {
		r.kinds = append(r.kinds, kind)
	}
	return r
}

// Wake says that something may be due now.
func (r *Runner) Wake() {
	select {
	case r.wake <- struct{}{}:
	default:
	}
}

// Run works until ctx ends, and then waits for what is being done. What takes longer
// than Drain is broken off and given back.
func (r *Runner) Run(ctx context.Context) {
	ctx, _ = watch.Begin(ctx, slog.String(watch.Work, "tasks"))
	work, breakOff := context.WithCancel(context.WithoutCancel(ctx))
	defer breakOff()
	for ctx.Err() == nil {
		r.claim(ctx, work)
		select {
		case <-r.wake:
		case <-time.After(jittered(r.config.Poll)):
		case <-ctx.Done():
		}
	}
	done := make(chan struct{})
	go func() { r.running.Wait(); close(done) }()
	select {
	case <-done:
	case <-time.After(r.config.Drain):
		breakOff()
		<-done
	}
}

// jittered spreads what many servers would do at one time.
func jittered(d time.Duration) time.Duration { return d/2 + rand.N(d/2+1) + d/4 }

// claim takes as many tasks as there is room for and begins them. It takes them in
// parts, none of which can give a firm more than its share: a firm with much to do
// would else fill the room whenever all of it is free at once.
func (r *Runner) claim(ctx, work context.Context) {
	for {
		part, except := r.room()
		if part == 0 {
			return
		}
		now := r.config.Now()
		tasks, err := r.config.Queue.Claim(ctx, Claim{Now: now, Until: now.Add(r.config.Lease), Kinds: r.kinds, Except: except, Limit: part})
		if err != nil {
			r.away(ctx, now, err)
			return
		}
		for _, t := range tasks {
			r.begin(work, t)
		}
		if len(tasks) < part {
			return
		}
	}
}

// tellAgain is how often it is said that the queue does not answer, while it does not.
const tellAgain = time.Minute

// away says that the queue does not answer: it is asked far more often than anybody
// wants to read of it.
func (r *Runner) away(ctx context.Context, now time.Time, err error) {
	if ctx.Err() != nil || now.Sub(r.told) < tellAgain {
		return
	}
	r.told = now
	r.config.Logger.WarnContext(ctx, "tasks were not claimed", "err", err)
}

// room says how many tasks may be taken at once, even if all are of one firm, and
// which firms have their share.
func (r *Runner) room() (part int, except []events.ID) {
	r.mu.Lock()
	defer r.mu.Unlock()
	share := max(1, r.config.AtOnce/2)
	free, part := r.config.AtOnce, share
	for firm, n := range r.doing {
		free -= n
		if n >= share {
			except = append(except, firm)
		} else {
			part = min(part, share-n)
		}
	}
	return min(free, part), except
}

func (r *Runner) begin(work context.Context, t Task) {
	r.mu.Lock()
	r.doing[t.Firm]++
	r.mu.Unlock()
	r.running.Go(func() {
		defer func() {
			r.mu.Lock()
			if r.doing[t.Firm]--; r.doing[t.Firm] == 0 {
				delete(r.doing, t.Firm)
			}
			r.mu.Unlock()
			r.Wake() // there is room again
		}()
		r.watched(work, t)
	})
}

// watched does one task while its lines say which it is, and counts how it ended.
func (r *Runner) watched(work context.Context, t Task) {
	start := time.Now()
	work, about := watch.Begin(work, slog.String(watch.Task, t.ID.String()), slog.String(watch.Kind, t.Kind), slog.String(watch.Firm, t.Firm.String()))
	work, span := r.config.Tracer.Start(work, "task "+t.Kind, append(about.Attrs(), slog.Int("attempt", t.Attempts))...)
	if id := span.Trace(); id != "" {
		about.Set(watch.Trace, id)
	}
	end, err := r.do(work, t)
	if errors.Is(err, ErrMore) {
		err = nil
	}
	span.End(err)
	r.config.Meter.Tried(t.Kind, end, time.Since(start))
}

// do does one task and settles what becomes of it. The error is the handler's.
func (r *Runner) do(work context.Context, t Task) (watch.Outcome, error) {
	ctx, cancel := context.WithCancel(work)
	asClaimed := t // hold renews the lease of t meanwhile
	held := r.hold(ctx, cancel, &t)
	failed := r.handle(ctx, asClaimed)
	cancel()
	held.Wait()
	settle, end := context.WithTimeout(context.WithoutCancel(work), r.config.Lease)
	defer end()
	var outcome watch.Outcome
	var err error
	if work.Err() != nil && failed != nil {
		outcome, err = watch.Dropped, r.config.Queue.Retry(settle, t, Retry{Due: r.config.Now(), Reason: t.Failed, Free: true})
	} else {
		outcome, err = r.settle(settle, t, failed)
	}
	if errors.Is(err, events.ErrNotFound) { // a lost lease is another's task
		outcome = watch.Dropped
	} else if err != nil {
		r.config.Logger.WarnContext(work, "a task was not settled", "ref", t.Ref, "err", err)
	}
	return outcome, failed
}

// hold renews the lease while a task is done. If it is lost the task is broken off:
// somebody else does it.
func (r *Runner) hold(ctx context.Context, cancel context.CancelFunc, t *Task) *sync.WaitGroup {
	var held sync.WaitGroup
	held.Go(func() {
		tick := time.NewTicker(r.config.Lease / 3)
		defer tick.Stop()
		for {
			select {
			case <-ctx.Done():
				return
			case <-tick.C:
			}
			longer, err := r.config.Queue.Extend(context.WithoutCancel(ctx), *t, r.config.Now().Add(r.config.Lease))
			if errors.Is(err, events.ErrNotFound) {
				cancel()
				return
			}
			if err == nil {
				t.Lease = longer.Lease
			}
		}
	})
	return &held
}

// handle lets the handler do a task; a panic is an error like others.
func (r *Runner) handle(ctx context.Context, t Task) (err error) {
	defer func() {
		if bug := recover(); bug != nil {
			r.config.Meter.Panicked("task")
			r.config.Logger.ErrorContext(ctx, "a task panicked", "ref", t.Ref, "panic", bug, "stack", string(debug.Stack()))
			err = fmt.Errorf("panic: %v", bug)
		}
	}()
	return r.config.Handlers[t.Kind].Do(ctx, t)
}

func (r *Runner) settle(ctx context.Context, t Task, err error) (watch.Outcome, error) {
	queue, now := r.config.Queue, r.config.Now()
	switch {
	case err == nil:
		return watch.Done, queue.Finish(ctx, t)
	case errors.Is(err, ErrMore):
		return watch.More, queue.Retry(ctx, t, Retry{Due: now, Free: true})
	}
	h := r.config.Handlers[t.Kind]
	wait, again := h.Backoff(t.Attempts)
	if again {
		return watch.Failed, queue.Retry(ctx, t, Retry{Due: now.Add(jittered(wait)), Reason: err.Error()})
	}
	r.config.Logger.WarnContext(ctx, "a task is not tried again", "ref", t.Ref, "attempts", t.Attempts, "err", err)
	if buryErr := queue.Bury(ctx, t, err.Error()); buryErr != nil || h.Buried == nil {
		return watch.Buried, buryErr
	}
	return watch.Buried, h.Buried(ctx, t, err.Error())
}
