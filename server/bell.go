package server

import (
	"context"
	"log/slog"
	"maps"
	"slices"
	"sync"
	"time"

	"relevel/events"
)

// Bell lets servers that share a store wake each other. What it says is a hint: a ring
// may be lost or come twice, and whoever hears one asks the store. Without one, or while
// it is broken, servers find out by looking now and again.
type Bell interface {
	// Ring tells the other servers that something happened in some firms. It is rung
	// after the commit and never in its transaction.
	Ring(ctx context.Context, firms []events.ID) error
	// Listen calls ready when it hears the other servers and heard for each firm that
	// they ring for, until ctx ends or it hears no more.
	Listen(ctx context.Context, ready func(), heard func(firm events.ID)) error
}

const (
	ringPause  = 50 * time.Millisecond // between two rings, each for all that came meanwhile
	ringLasts  = 5 * time.Second
	hearAgain  = 2 * time.Second // after the ear was lost
	mostRung   = 10_000          // firms; who is beyond that is found by looking
	ringAtOnce = 200             // firms in one ring
)

// ringer rings a bell behind the requests, and hears others ring it.
type ringer struct {
	bell   Bell // nil where nobody else is to hear
	logger *slog.Logger
	wake   chan struct{} // holds one

	mu  sync.Mutex
	due map[events.ID]bool
}

func newRinger(bell Bell, logger *slog.Logger) *ringer {
	return &ringer{bell: bell, logger: logger, wake: make(chan struct{}, 1), due: map[events.ID]bool{}}
}

// ring asks for a firm to be rung for. It never waits.
func (r *ringer) ring(firm events.ID) {
	if r.bell == nil {
		return
	}
	r.mu.Lock()
	if len(r.due) < mostRung {
		r.due[firm] = true
	}
	r.mu.Unlock()
	select {
	case r.wake <- struct{}{}:
	default:
	}
}

// run rings and listens until ctx ends.
func (r *ringer) run(ctx context.Context, ready func(), heard func(firm events.ID)) {
	if r.bell == nil {
		return
	}
	var both sync.WaitGroup
	both.Go(func() { r.ringDue(ctx) })
	both.Go(func() { r.listen(ctx, ready, heard) })
	both.Wait()
}

func (r *ringer) ringDue(ctx context.Context) {
	for {
		select {
		case <-r.wake:
		case <-ctx.Done():
			return
		}
		for firms := range slices.Chunk(r.take(), ringAtOnce) {
			if err := r.ringOnce(ctx, firms); err != nil {
				r.logger.DebugContext(ctx, "the other servers were not woken", "err", err)
			}
		}
		select {
		case <-time.After(ringPause):
		case <-ctx.Done():
			return
		}
	}
}

func (r *ringer) take() []events.ID {
	r.mu.Lock()
	defer r.mu.Unlock()
	firms := slices.Collect(maps.Keys(r.due))
	clear(r.due)
	return firms
}

func (r *ringer) ringOnce(ctx context.Context, firms []events.ID) error {
	ctx, cancel := context.WithTimeout(ctx, ringLasts)
	defer cancel()
	return r.bell.Ring(ctx, firms)
}

func (r *ringer) listen(ctx context.Context, ready func(), heard func(firm events.ID)) {
	for ctx.Err() == nil {
		if err := r.bell.Listen(ctx, ready, heard); ctx.Err() == nil {
			r.logger.DebugContext(ctx, "the other servers are not heard", "err", err)
		}
		select {
		case <-time.After(hearAgain):
		case <-ctx.Done():
		}
	}
}
