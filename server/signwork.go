package server

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/signing"
	"relevel/server/tasks"
	"relevel/server/watch"
)

const (
	signKind     = "checkpoint"    // a task whose ref is a job
	firmSignKind = "firm-log"      // a task of a firm
	signUsual    = 3 * time.Second // between an append and its checkpoint, unless the config says otherwise
	signAtOnce   = 2
	signAtLast   = 20 * time.Second // between two attempts at a head
)

// signWork sees that heads are signed. An append marks its job; a moment later its head
// is signed once for all that came meanwhile, and a look over all heads finds what the
// queue lost.
type signWork struct {
	signer *signing.Signer
	queue  Tasks
	runner *tasks.Runner
	behind *behind
	logger *slog.Logger
	now    func() time.Time
	pause  time.Duration

	mu      sync.Mutex
	due     map[jobKey]bool
	queued  map[jobKey]time.Time // until when a task will see whatever is appended
	signed  map[jobKey]int64     // what this server knows to be signed
	waiting unsigned
	asked   map[events.ID]time.Time // the hour in which a firm's log was looked at last
	logged  map[events.ID]time.Time // and in which it was signed
}

// newSignWork returns nil where there are no keys: then nothing is signed. Without a
// queue that outlives the server it works with one of its own, and what was not signed
// when it ended is signed with what comes next.
func newSignWork(c Config) *signWork {
	if c.Keys == nil || c.Checkpoints == nil {
		return nil
	}
	w := &signWork{
		signer: &signing.Signer{Log: c.Log, Store: c.Checkpoints, Ring: c.Keys, Now: c.Now, Logger: c.Logger},
		queue:  c.Tasks, logger: c.Logger, now: c.Now, pause: c.SignAfter,
		due: map[jobKey]bool{}, queued: map[jobKey]time.Time{}, signed: map[jobKey]int64{}, waiting: newUnsigned(), asked: map[events.ID]time.Time{}, logged: map[events.ID]time.Time{},
	}
	if w.pause == 0 {
		w.pause = signUsual
	}
	if w.queue == nil {
		w.queue = ownQueue{tasks.NewMemory()}
	}
	w.runner = tasks.NewRunner(tasks.Config{
		Queue: w.queue, Now: c.Now, Logger: c.Logger, Meter: c.Meter, Tracer: c.Tracer, AtOnce: signAtOnce,
		Handlers: map[string]tasks.Handler{
			signKind:     {Do: w.signJob, Backoff: signLater},
			firmSignKind: {Do: w.signFirm, Backoff: signLater},
		},
	})
	w.behind = newBehind("checkpoints", w.addDue)
	return w
}

// ownQueue is a queue of one server, which sees no other's heads.
type ownQueue struct{ *tasks.Memory }

func (ownQueue) Heads(context.Context) ([]jobs.Reached, error) { return nil, nil }

// signLater never gives up: a task that was buried would keep its job from being signed.
// What keeps heads from being signed is mostly a store that is away, whose return nobody
// tells, so that the wait stays short.
func signLater(attempts int) (time.Duration, bool) {
	return min(time.Second<<min(attempts, 5), signAtLast), true
}

// run works until ctx ends.
func (w *signWork) run(ctx context.Context) {
	if w == nil {
		return
	}
	ctx, _ = watch.Begin(ctx, slog.String(watch.Work, "checkpoints"))
	var all sync.WaitGroup
	all.Go(func() { w.behind.run(ctx) })
	all.Go(func() { w.runner.Run(ctx) })
	all.Go(func() { nowAndAgain(ctx, seekEvery, w.seekAll) })
	all.Wait()
}

// mark says that a job's log has grown. It never waits.
func (w *signWork) mark(key jobKey) {
	if w == nil {
		return
	}
	w.mu.Lock()
	w.due[key] = true
	w.waiting.waits(key, w.now())
	w.mu.Unlock()
	w.behind.ask()
}

// addDue makes tasks of what was marked, but for jobs of which one waits already.
func (w *signWork) addDue(ctx context.Context) bool {
	now := w.now()
	byFirm := map[events.ID][]tasks.Task{}
	w.mu.Lock()
	for key, at := range w.queued {
		if !at.After(now) || at.After(now.Add(w.pause)) { // or the clock was set back
			delete(w.queued, key)
		}
	}
	for key := range w.due {
		if _, waits := w.queued[key]; !waits {
			w.queued[key] = now.Add(w.pause)
			byFirm[key.firm] = append(byFirm[key.firm], tasks.Task{Kind: signKind, Ref: key.job.String(), Due: w.queued[key]})
		}
	}
	clear(w.due)
	w.mu.Unlock()
	done := true
	for firm, due := range byFirm {
		if err := w.queue.Add(ctx, firm, due...); err != nil {
			w.logger.WarnContext(ctx, "checkpoints are signed later", "firm", firm.String(), "err", err)
			done = false
			w.again(firm, due)
		}
	}
	return done
}

// again marks what could not be added.
func (w *signWork) again(firm events.ID, due []tasks.Task) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, t := range due {
		if job, err := events.ParseID(t.Ref); err == nil {
			delete(w.queued, jobKey{firm, job})
			w.due[jobKey{firm, job}] = true
		}
	}
}

// signJob does a task. A log that does not agree with what was signed is done with: the
// store has what was found, and trying again would find the same.
func (w *signWork) signJob(ctx context.Context, t tasks.Task) error {
	job, err := events.ParseID(t.Ref)
	if err != nil {
		return nil // no task of ours
	}
	watch.Of(ctx).Set(watch.Job, job.String())
	k, err := w.signer.Sign(ctx, t.Firm, job)
	again := err != nil && !errors.Is(err, signing.ErrDisagrees) && !errors.Is(err, events.ErrNotFound)
	if again {
		return err
	}
	w.settled(jobKey{t.Firm, job}, k.Size, err)
	if err != nil {
		return nil
	}
	return w.logHourly(ctx, t.Firm, true)
}

// logHourly has the firm's log signed once in an hour: it is looked at once, and again
// when there is something fresh for it.
func (w *signWork) logHourly(ctx context.Context, firm events.ID, fresh bool) error {
	hour := w.hour()
	w.mu.Lock()
	done := w.logged[firm].Equal(hour) || (!fresh && w.asked[firm].Equal(hour))
	w.asked[firm] = hour
	w.mu.Unlock()
	if done {
		return nil
	}
	return w.queue.Add(ctx, firm, tasks.Task{Kind: firmSignKind, Due: w.now()})
}

func (w *signWork) hour() time.Time { return w.now().UTC().Truncate(time.Hour) }

// signFirm does a task, unless another server did in this hour.
func (w *signWork) signFirm(ctx context.Context, t tasks.Task) error {
	done, err := w.signedThisHour(ctx, t.Firm)
	if err != nil {
		return err
	}
	if !done {
		done, err = w.signer.SignFirm(ctx, t.Firm)
	}
	switch {
	case errors.Is(err, signing.ErrDisagrees):
		w.logger.ErrorContext(ctx, "the log of a firm was not signed", "firm", t.Firm.String(), "err", err)
		return nil
	case errors.Is(err, events.ErrConflict): // another server was first
		done = true
	case err != nil:
		return err
	}
	if done {
		w.mu.Lock()
		w.logged[t.Firm] = w.hour()
		w.mu.Unlock()
	}
	return nil
}

func (w *signWork) signedThisHour(ctx context.Context, firm events.ID) (bool, error) {
	last, err := w.signer.Store.LastFirmCheckpoint(ctx, firm)
	if errors.Is(err, events.ErrNotFound) {
		return false, nil
	}
	return last.At.Truncate(time.Hour).Equal(w.hour()), err
}

// seekAll looks for heads that are not signed.
func (w *signWork) seekAll(ctx context.Context) {
	if err := w.seek(ctx); err != nil && ctx.Err() == nil {
		w.logger.WarnContext(ctx, "heads that are not signed were not looked for", "err", err)
	}
}

// seek adds a task for every job whose head is not signed, and for every firm's log.
func (w *signWork) seek(ctx context.Context) error {
	heads, err := w.queue.Heads(ctx)
	if err != nil {
		return err
	}
	byFirm := map[events.ID]map[events.ID]int64{}
	for _, h := range heads {
		if byFirm[h.Firm] == nil {
			byFirm[h.Firm] = map[events.ID]int64{}
		}
		byFirm[h.Firm][h.Job] = h.Seq
	}
	var errs []error
	for firm, seqs := range byFirm {
		errs = append(errs, w.seekFirm(ctx, firm, seqs))
	}
	return errors.Join(errs...)
}

func (w *signWork) seekFirm(ctx context.Context, firm events.ID, seqs map[events.ID]int64) error {
	if asked := w.unsure(firm, seqs); len(asked) > 0 {
		sizes, err := w.signer.Store.LastSizes(ctx, firm, asked)
		if err != nil {
			return err
		}
		if due := w.unsigned(firm, asked, seqs, sizes); len(due) > 0 {
			if err := w.queue.Add(ctx, firm, due...); err != nil {
				return err
			}
			w.runner.Wake()
		}
	}
	return w.logHourly(ctx, firm, false)
}

// unsure are the jobs of which this server does not know that their head is signed.
func (w *signWork) unsure(firm events.ID, seqs map[events.ID]int64) (asked []events.ID) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for job, seq := range seqs {
		if w.signed[jobKey{firm, job}] != seq {
			asked = append(asked, job)
		}
	}
	return asked
}

func (w *signWork) unsigned(firm events.ID, asked []events.ID, seqs, sizes map[events.ID]int64) (due []tasks.Task) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, job := range asked {
		if sizes[job] == seqs[job] {
			w.signed[jobKey{firm, job}] = seqs[job]
			w.waiting.signed(jobKey{firm, job})
			continue
		}
		w.waiting.waits(jobKey{firm, job}, w.now())
		due = append(due, tasks.Task{Kind: signKind, Ref: job.String(), Due: w.now()})
	}
	return due
}
