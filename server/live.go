package server

import (
	"container/list"
	"context"
	"fmt"
	"log/slog"
	"runtime/debug"
	"sync"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/server/watch"
)

// readPage is how many events are read from a log at once.
const readPage = 1000

// jobKey names a job; the same id under two firms is two jobs.
type jobKey struct{ firm, job events.ID }

// states keeps the folded states of the jobs that were used last. They are a
// cache: whatever is asked of one, it catches up with the log first, since
// another server may have appended.
type states struct {
	log   events.Log
	jobs  jobs.Jobs
	max   int
	heard func(firm events.ID, all []events.Stored) // is told of each whole log that was read
	meter watch.Meter
	trace watch.Tracer

	mu    sync.Mutex
	known map[jobKey]*list.Element // of *live
	used  *list.List               // the last used in front
}

func newStates(log events.Log, store jobs.Jobs, max int) *states {
	return &states{log: log, jobs: store, max: max, heard: func(events.ID, []events.Stored) {}, meter: watch.Unmetered{}, trace: watch.Untraced{}, known: map[jobKey]*list.Element{}, used: list.New()}
}

// live is one job's state. Whoever holds turn works on it.
type live struct {
	key   jobKey
	turn  chan struct{}
	of    *states
	state *jobs.State // nil until it was first read
}

// use calls f with a job's state as it is now. The state is f's own until it
// returns. A job this firm does not have is ErrNotFound.
func (s *states) use(ctx context.Context, key jobKey, f func(*jobs.State)) error {
	return s.enter(ctx, key, func(l *live) error {
		if err := l.catchUp(ctx, s.log); err != nil {
			return err
		}
		f(l.state)
		return nil
	})
}

// picture returns a job as it is now.
func (s *states) picture(ctx context.Context, key jobKey, now time.Time) (p jobs.Picture, err error) {
	err = s.use(ctx, key, func(state *jobs.State) { p = state.Picture(now) })
	return p, err
}

// pictureIn is picture with its phrases as a firm reads them.
func (s *states) pictureIn(ctx context.Context, key jobKey, now time.Time, firm jobs.Firm) (p jobs.Picture, err error) {
	err = s.useIn(ctx, key, firm, func(state *jobs.State) { p = state.Picture(now) })
	return p, err
}

// useIn is use of a state that speaks as a firm does.
func (s *states) useIn(ctx context.Context, key jobKey, firm jobs.Firm, f func(*jobs.State)) error {
	return s.use(ctx, key, func(state *jobs.State) {
		state.Speak(firm.Speech())
		defer state.Speak(jobs.Speech{})
		f(state)
	})
}

// figures folds what an append has just stored and returns the supports that
// its events touched. When nothing came between, the log need not be read.
func (s *states) figures(ctx context.Context, key jobKey, in logged, now time.Time) (touched []jobs.Support, err error) {
	err = s.enter(ctx, key, func(l *live) error {
		if err := l.take(ctx, s.log, in.fresh); err != nil {
			return err
		}
		touched = l.state.Figures(now, l.state.Touched(in.all)...)
		return nil
	})
	return touched, err
}

// enter waits for a job's turn and calls f. A panic in the fold costs this one
// state, which is read anew, and not the server.
func (s *states) enter(ctx context.Context, key jobKey, f func(*live) error) (err error) {
	l, err := s.find(ctx, key)
	if err != nil {
		return err
	}
	select {
	case l.turn <- struct{}{}:
	case <-ctx.Done():
		return fmt.Errorf("wait for the state of %s: %w", key.job, ctx.Err())
	}
	defer func() {
		if bug := recover(); bug != nil {
			l.state = nil
			s.meter.Panicked("fold")
			err = fmt.Errorf("fold %s: panic: %v\n%s", key.job, bug, debug.Stack())
		}
		<-l.turn
	}()
	return f(l)
}

// find returns the place of a job's state, after asking once whether the firm
// has that job.
func (s *states) find(ctx context.Context, key jobKey) (*live, error) {
	if l, ok := s.recall(key); ok {
		return l, nil
	}
	if _, err := s.jobs.FindJob(ctx, key.firm, key.job); err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if at, ok := s.known[key]; ok { // another request was faster
		return at.Value.(*live), nil
	}
	l := &live{key: key, turn: make(chan struct{}, 1), of: s}
	s.known[key] = s.used.PushFront(l)
	for len(s.known) > s.max {
		oldest := s.used.Back()
		s.used.Remove(oldest)
		delete(s.known, oldest.Value.(*live).key)
	}
	return l, nil
}

func (s *states) recall(key jobKey) (*live, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	at, ok := s.known[key]
	if !ok {
		return nil, false
	}
	s.used.MoveToFront(at)
	return at.Value.(*live), true
}

// take folds events that follow what is folded already, and reads the log for
// whatever is between.
func (l *live) take(ctx context.Context, log events.Log, stored []events.Stored) error {
	if l.state == nil || len(stored) == 0 || stored[0].Seq != l.state.Seq()+1 {
		return l.catchUp(ctx, log)
	}
	return l.fold(ctx, log, stored)
}

// catchUp folds what the log has beyond the state.
func (l *live) catchUp(ctx context.Context, log events.Log) error {
	if l.state == nil {
		return l.refold(ctx, log)
	}
	// Most often there is nothing new, and the head says so for a fraction of a read.
	head, err := log.Head(ctx, l.key.firm, l.key.job)
	if err != nil {
		return fmt.Errorf("look for what is new: %w", err)
	}
	for l.state.Seq() < head.Seq {
		more, err := log.Read(ctx, l.key.firm, l.key.job, l.state.Seq(), readPage)
		if err != nil {
			return fmt.Errorf("read what is new: %w", err)
		}
		if err := l.fold(ctx, log, more); err != nil {
			return err
		}
	}
	return nil
}

func (l *live) fold(ctx context.Context, log events.Log, more []events.Stored) error {
	for _, e := range more {
		if !jobs.Fold(l.state, e) {
			return l.refold(ctx, log)
		}
	}
	return nil
}

// refold reads the whole log. The old state stays if that fails.
func (l *live) refold(ctx context.Context, log events.Log) (err error) {
	ctx, span := l.of.trace.Start(ctx, "refold", slog.String(watch.Job, l.key.job.String()))
	defer func() { span.End(err) }()
	all, err := readAll(ctx, log, l.key, -1)
	if err != nil {
		return err
	}
	l.of.heard(l.key.firm, all)
	l.state = jobs.Refold(l.key.job, all)
	l.of.meter.Refolded(len(all))
	span.Say(slog.Int("events", len(all)))
	return nil
}

// readAll reads a job's events up to a number, or all of them if it is negative.
func readAll(ctx context.Context, log events.Log, key jobKey, upTo int64) ([]events.Stored, error) {
	var all []events.Stored
	for upTo < 0 || int64(len(all)) < upTo {
		limit := readPage
		if upTo >= 0 {
			limit = int(min(readPage, upTo-int64(len(all))))
		}
		more, err := log.Read(ctx, key.firm, key.job, int64(len(all)), limit)
		if err != nil {
			return nil, fmt.Errorf("read the log: %w", err)
		}
		all = append(all, more...)
		if len(more) < limit {
			break
		}
	}
	return all, nil
}
