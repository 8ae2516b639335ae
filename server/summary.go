package server

import (
	"context"
	"log/slog"
	"sync"
	"time"

	"relevel/jobs"
	"relevel/server/drawing"
)

// summaries writes the one row a job that pages over many jobs read. It works
// behind the requests and once for many appends: a row that is late is a row
// behind its head, no more.
type summaries struct {
	states *states
	store  jobs.Summaries
	logger *slog.Logger

	behind *behind
	told   func(jobKey) // is told of each row that was written

	due dueJobs

	mu    sync.Mutex
	saved chan struct{} // closed, and made anew, after every row that was written
}

func newSummaries(s *states, store jobs.Summaries, logger *slog.Logger) *summaries {
	made := &summaries{states: s, store: store, logger: logger, told: func(jobKey) {}, saved: make(chan struct{})}
	made.behind = newBehind("summaries", made.saveDue)
	return made
}

// mark asks for a job's row to be written.
func (s *summaries) mark(key jobKey) {
	s.due.add(key)
	s.behind.ask()
}

// saveDue reports whether the store took what was due. What it did not take
// stays due; what cannot be folded waits for the job's next event.
func (s *summaries) saveDue(ctx context.Context) bool {
	return s.due.each(func(key jobKey) error {
		err := s.save(ctx, key)
		if err != nil {
			s.logger.WarnContext(ctx, "a summary was not saved", "job", key.job.String(), "err", err)
		}
		return err
	})
}

func (s *summaries) save(ctx context.Context, key jobKey) error {
	var row jobs.Summary
	err := s.states.use(ctx, key, func(state *jobs.State) { row = summaryOf(key, state) })
	if err != nil {
		return err
	}
	if err := s.store.SaveSummary(ctx, row); err != nil {
		return err
	}
	s.told(key)
	s.mu.Lock()
	defer s.mu.Unlock()
	close(s.saved)
	s.saved = make(chan struct{})
	return nil
}

// lookAgain is how often a row is looked at that another server may be writing.
const lookAgain = 200 * time.Millisecond

// reached returns a job's row once it has reached seq, or what there is when ctx
// ends. It is not ok while the job has no row of this version.
func (s *summaries) reached(ctx context.Context, key jobKey, seq int64) (row jobs.Summary, ok bool, err error) {
	for {
		s.mu.Lock()
		saved := s.saved
		s.mu.Unlock()
		rows, err := s.store.ListSummaries(context.WithoutCancel(ctx), key.firm, key.job)
		if err != nil {
			return row, false, err
		}
		if ok = len(rows) == 1 && rows[0].Version == jobs.SummaryVersion; ok {
			row = rows[0]
		}
		if ok && row.Seq >= seq {
			return row, true, nil
		}
		select {
		case <-saved:
		case <-time.After(lookAgain):
		case <-ctx.Done():
			return row, ok, nil
		}
	}
}

// summaryOf makes a job's row of its state. The plan is drawn as of the day on which
// something happened last, so that the same log makes the same row.
func summaryOf(key jobKey, state *jobs.State) jobs.Summary {
	row := jobs.Summary{Firm: key.firm, Job: key.job, Seq: state.Seq(), Version: jobs.SummaryVersion, Brief: state.Brief(), Diary: state.Diary()}
	if row.Brief.Supports > 0 {
		row.Small = drawing.Small(state.Picture(row.Brief.LastAt))
	}
	return row
}
