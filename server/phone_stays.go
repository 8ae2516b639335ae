package server

import (
	"context"
	"sync"

	"relevel/events"
	"relevel/jobs"
)

// mostStays is for how many closed jobs, of all firms, it is remembered whether they
// stay on phones.
const mostStays = 50_000

// stays remembers which closed jobs still are to lie on phones. Every phone asks, whenever
// it reaches the server, and a firm has more closed jobs each year, whose rows hardly ever
// change.
type stays struct {
	mu    sync.Mutex
	known map[jobKey]stay
}

// stay is what the row of a job said when it was so far.
type stay struct {
	seq  int64
	must bool
}

func newStays() *stays { return &stays{known: map[jobKey]stay{}} }

// over tells which of a firm's jobs are closed and have nothing that must stay before a
// crew's eyes. Of a job whose row is being worked out nobody knows whether anybody is
// below: it is not over.
func (s *stays) over(ctx context.Context, store jobs.Summaries, firm events.ID, list []jobs.Folded) (map[events.ID]bool, error) {
	over := map[events.ID]bool{}
	var unknown []events.ID
	s.mu.Lock()
	for _, j := range list {
		if !j.IsClosed() || j.Version == 0 {
			continue
		}
		if known, ok := s.known[jobKey{firm, j.ID}]; !ok || known.seq != j.Seq {
			unknown = append(unknown, j.ID)
		} else if !known.must {
			over[j.ID] = true
		}
	}
	s.mu.Unlock()
	if len(unknown) == 0 {
		return over, nil
	}
	rows, err := store.ListSummaries(ctx, firm, unknown...)
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.known)+len(rows) > mostStays {
		clear(s.known)
	}
	for _, row := range rows {
		if row.Version != jobs.SummaryVersion {
			continue
		}
		must := row.Brief.MustStay()
		s.known[jobKey{firm, row.Job}] = stay{row.Seq, must}
		over[row.Job] = !must
	}
	return over, nil
}
