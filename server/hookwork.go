package server

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/hooks"
	"relevel/server/tasks"
	"relevel/server/watch"
)

// Tasks is the queue of what is done behind the requests, and how far all logs go, by
// which what the queue lost is found again.
type Tasks interface {
	tasks.Queue
	Heads(ctx context.Context) ([]jobs.Reached, error)
}

const (
	seekEvery = time.Minute     // between two looks for what hooks were not told
	hooksKept = 2 * time.Second // for which a firm's hooks are remembered
)

// hookWork sees that hooks are told. An append only marks its job; whether there are
// hooks, and what of, is looked up behind it.
type hookWork struct {
	teller *hooks.Teller
	queue  Tasks
	runner *tasks.Runner
	behind *behind
	logger *slog.Logger
	now    func() time.Time

	due   dueJobs // a job of zero: what is about no job
	mu    sync.Mutex
	known map[events.ID]knownHooks
}

type knownHooks struct {
	list  []jobs.Hook
	until time.Time
}

// newHookWork returns nil where there is no queue: then hooks are told nothing.
func newHookWork(c Config) *hookWork {
	if c.Tasks == nil {
		return nil
	}
	w := &hookWork{
		teller: &hooks.Teller{Log: c.Log, Store: c.Store, Sender: hooks.NewSender(c.Hooks, c.Now, c.Random), Now: c.Now},
		queue:  c.Tasks, logger: c.Logger, now: c.Now, known: map[events.ID]knownHooks{},
	}
	w.runner = tasks.NewRunner(tasks.Config{
		Queue: c.Tasks, Handlers: map[string]tasks.Handler{hooks.Kind: w.teller.Handler()}, Now: c.Now, Logger: c.Logger,
		Meter: c.Meter, Tracer: c.Tracer,
	})
	w.behind = newBehind("hooks", w.addDue)
	return w
}

// run works until ctx ends.
func (w *hookWork) run(ctx context.Context) {
	if w == nil {
		return
	}
	ctx, _ = watch.Begin(ctx, slog.String(watch.Work, "hooks"))
	var all sync.WaitGroup
	all.Go(func() { w.behind.run(ctx) })
	all.Go(func() { w.runner.Run(ctx) })
	all.Go(func() { nowAndAgain(ctx, seekEvery, w.seekAll) })
	all.Wait()
}

// mark says that a job's log has grown, or that something was kept apart for a firm.
// It never waits.
func (w *hookWork) mark(key jobKey) {
	if w == nil {
		return
	}
	w.due.add(key)
	w.behind.ask()
}

// addDue makes tasks of what was marked. What cannot be added now is found again by
// seeking.
func (w *hookWork) addDue(ctx context.Context) bool {
	byFirm := map[events.ID][]events.ID{}
	for key := range w.due.take() {
		byFirm[key.firm] = append(byFirm[key.firm], key.job)
	}
	done := true
	for firm, of := range byFirm {
		if err := w.addOf(ctx, firm, of); err != nil {
			w.logger.WarnContext(ctx, "hooks are told later", "firm", firm.String(), "err", err)
			done = false
		}
	}
	return done
}

func (w *hookWork) addOf(ctx context.Context, firm events.ID, of []events.ID) error {
	list, err := w.hooksOf(ctx, firm)
	if err != nil {
		return err
	}
	var due []tasks.Task
	for _, h := range list {
		for _, job := range of {
			switch {
			case !h.Listens():
			case job.IsZero():
				due = append(due, hooks.Beside(h, w.now())...)
			case hooks.Hears(h):
				due = append(due, hooks.JobTask(h.ID, job, w.now()))
			}
		}
	}
	return w.add(ctx, firm, due)
}

func (w *hookWork) add(ctx context.Context, firm events.ID, due []tasks.Task) error {
	if len(due) == 0 {
		return nil
	}
	if err := w.queue.Add(ctx, firm, due...); err != nil {
		return err
	}
	w.runner.Wake()
	return nil
}

// hooksOf returns a firm's hooks as they were a moment ago, so that a firm without any
// costs nothing.
func (w *hookWork) hooksOf(ctx context.Context, firm events.ID) ([]jobs.Hook, error) {
	w.mu.Lock()
	known := w.known[firm]
	w.mu.Unlock()
	if w.now().Before(known.until) {
		return known.list, nil
	}
	list, err := w.teller.Store.ListHooks(ctx, firm)
	if err != nil {
		return nil, err
	}
	w.mu.Lock()
	w.known[firm] = knownHooks{list, w.now().Add(hooksKept)}
	w.mu.Unlock()
	return list, nil
}

// forget lets a change of a firm's hooks be seen at once.
func (w *hookWork) forget(firm events.ID) {
	w.mu.Lock()
	delete(w.known, firm)
	w.mu.Unlock()
}

// seekAll looks for what was not told.
func (w *hookWork) seekAll(ctx context.Context) {
	if err := w.seek(ctx, events.ID{}); err != nil && ctx.Err() == nil {
		w.logger.WarnContext(ctx, "what hooks were not told was not looked for", "err", err)
	}
}

// seek finds what hooks were not told and adds tasks: of one firm, or of all where it
// is zero.
func (w *hookWork) seek(ctx context.Context, only events.ID) error {
	heads, err := w.queue.Heads(ctx)
	if err != nil {
		return err
	}
	byFirm := map[events.ID][]jobs.Reached{}
	for _, h := range heads {
		if only.IsZero() || h.Firm == only {
			byFirm[h.Firm] = append(byFirm[h.Firm], h)
		}
	}
	if !only.IsZero() && byFirm[only] == nil {
		byFirm[only] = nil // it may have something kept apart
	}
	var errs []error
	for firm, heads := range byFirm {
		due, err := w.teller.Missing(ctx, firm, heads)
		if err == nil {
			err = w.add(ctx, firm, due)
		}
		errs = append(errs, err)
	}
	return errors.Join(errs...)
}

// wake lets a hook that was paused, or nothing reached, be told again at once.
func (w *hookWork) wake(ctx context.Context, h jobs.Hook) error {
	if err := w.queue.Drop(ctx, h.Firm, hooks.Kind, h.ID.String()+" "); err != nil {
		return err
	}
	w.forget(h.Firm)
	return w.seek(ctx, h.Firm)
}
