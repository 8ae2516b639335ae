package server

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"relevel/events"
	"relevel/jobs"
)

const (
	summaryPause = 250 * time.Millisecond // between two rounds of saving
	summaryRetry = 5 * time.Second        // after one that failed
	summaryLast  = 5 * time.Second        // for what is left at the end
)

// summaries writes the one row a job that pages over many jobs read. It works
// behind the requests and once for many appends: a row that is late is a row
// behind its head, no more.
type summaries struct {
	states *states
	store  jobs.Summaries
	logger *slog.Logger

	mu   sync.Mutex
	due  map[jobKey]bool
	wake chan struct{} // holds one
}

func newSummaries(s *states, store jobs.Summaries, logger *slog.Logger) *summaries {
	return &summaries{states: s, store: store, logger: logger, due: map[jobKey]bool{}, wake: make(chan struct{}, 1)}
}

// mark asks for a job's row to be written.
func (s *summaries) mark(key jobKey) {
	s.mu.Lock()
	s.due[key] = true
	s.mu.Unlock()
	select {
	case s.wake <- struct{}{}:
	default:
	}
}

// run writes rows until ctx ends, and then those that are due.
func (s *summaries) run(ctx context.Context) {
	for {
		select {
		case <-s.wake:
		case <-ctx.Done():
		}
		if ctx.Err() != nil {
			last, cancel := context.WithTimeout(context.WithoutCancel(ctx), summaryLast)
			defer cancel()
			s.saveDue(last)
			return
		}
		pause := summaryPause
		if !s.saveDue(ctx) {
			pause = summaryRetry
		}
		select {
		case <-time.After(pause):
		case <-ctx.Done():
		}
	}
}

// saveDue reports whether the store took what was due. What it did not take
// stays due; what cannot be folded waits for the job's next event.
func (s *summaries) saveDue(ctx context.Context) bool {
	s.mu.Lock()
	due := s.due
	s.due = map[jobKey]bool{}
	s.mu.Unlock()
	for key := range due {
		err := s.save(ctx, key)
		if err != nil {
			s.logger.WarnContext(ctx, "a summary was not saved", "job", key.job.String(), "err", err)
		}
		if errors.Is(err, events.ErrUnavailable) {
			for key := range due {
				s.mark(key)
			}
			return false
		}
		delete(due, key)
	}
	return true
}

func (s *summaries) save(ctx context.Context, key jobKey) error {
	row := jobs.Summary{Firm: key.firm, Job: key.job, FoldVersion: jobs.FoldVersion}
	err := s.states.use(ctx, key, func(state *jobs.State) {
		row.Seq, row.Brief = state.Seq(), state.Brief()
	})
	if err != nil {
		return err
	}
	return s.store.SaveSummary(ctx, row)
}
