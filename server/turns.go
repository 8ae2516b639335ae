package server

import (
	"context"
	"sync"
)

// turns lets one go at a time for each job, in this server. Others are kept apart by
// the ids of what they record.
type turns struct {
	mu   sync.Mutex
	held map[jobKey]chan struct{} // closed when its turn ends
}

func newTurns() *turns { return &turns{held: map[jobKey]chan struct{}{}} }

// take waits for a turn, which must be given back.
func (t *turns) take(ctx context.Context, key jobKey) (release func(), err error) {
	for {
		t.mu.Lock()
		before, busy := t.held[key]
		if !busy {
			mine := make(chan struct{})
			t.held[key] = mine
			t.mu.Unlock()
			return func() {
				t.mu.Lock()
				delete(t.held, key)
				t.mu.Unlock()
				close(mine)
			}, nil
		}
		t.mu.Unlock()
		select {
		case <-before:
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
}
