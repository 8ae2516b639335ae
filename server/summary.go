package server

import (
	"context"
	"errors"
	"log/slog"
	"sync"

	"relevel/events"
	"relevel/jobs"
)

// summaries writes the one row a job that pages over many jobs read. It works
// behind the requests and once for many appends: a row that is late is a row
// behind its head, no more.
type summaries struct {
	states *states
	store  jobs.Summaries
	logger *slog.Logger

	behind *behind

	mu  sync.Mutex
	due map[jobKey]bool
}

func newSummaries(s *states, store jobs.Summaries, logger *slog.Logger) *summaries {
	made := &summaries{states: s, store: store, logger: logger, due: map[jobKey]bool{}}
	made.behind = newBehind(made.saveDue)
	return made
}

// mark asks for a job's row to be written.
func (s *summaries) mark(key jobKey) {
	s.mu.Lock()
	s.due[key] = true
	s.mu.Unlock()
	s.behind.ask()
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
