package server

import (
	"context"
	"errors"
	"log/slog"
	"maps"
	"slices"
	"sync"
	"time"

	"relevel/events"
	"relevel/server/watch"
)

const (
	behindPause = 250 * time.Millisecond // between two rounds
	behindRetry = 5 * time.Second        // after one that failed
	behindLast  = 5 * time.Second        // for what is under way at the end, and for what is left then
)

// behind does work behind the requests, and once for many of them.
type behind struct {
	name string                            // under which it stands in the log
	work func(context.Context) (done bool) // takes all that is due; what is not done stays due
	wake chan struct{}                     // holds one
}

func newBehind(name string, work func(context.Context) bool) *behind {
	return &behind{name: name, work: work, wake: make(chan struct{}, 1)}
}

// ask says that something is due.
func (b *behind) ask() {
	select {
	case b.wake <- struct{}{}:
	default:
	}
}

// run works until ctx ends, and then once more on what is left.
func (b *behind) run(ctx context.Context) {
	ctx, _ = watch.Begin(ctx, slog.String(watch.Work, b.name))
	for {
		select {
		case <-b.wake:
		case <-ctx.Done():
		}
		if ctx.Err() != nil {
			last, cancel := context.WithTimeout(context.WithoutCancel(ctx), behindLast)
			defer cancel()
			b.work(last)
			return
		}
		pause := behindPause
		if !b.do(ctx) {
			pause = behindRetry
		}
		select {
		case <-time.After(pause):
		case <-ctx.Done():
		}
	}
}

// do works once. What is under way when ctx ends is finished and not broken off, unless it
// takes too long.
func (b *behind) do(ctx context.Context) bool {
	under, breakOff := context.WithCancel(context.WithoutCancel(ctx))
	defer breakOff()
	stop := context.AfterFunc(ctx, func() {
		select {
		case <-time.After(behindLast):
			breakOff()
		case <-under.Done():
		}
	})
	defer stop()
	return b.work(under)
}

// dueJobs are the jobs for which something is to be done behind the requests, each once
// however often it is asked for.
type dueJobs struct {
	mu   sync.Mutex
	keys map[jobKey]bool
}

func (d *dueJobs) add(keys ...jobKey) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.keys == nil {
		d.keys = map[jobKey]bool{}
	}
	for _, key := range keys {
		d.keys[key] = true
	}
}

// take hands all of them over.
func (d *dueJobs) take() map[jobKey]bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	keys := d.keys
	d.keys = nil
	return keys
}

// each works for one after the other and reports whether the store took it. When it is
// away, what is left stays due.
func (d *dueJobs) each(work func(jobKey) error) bool {
	due := d.take()
	for key := range due {
		if errors.Is(work(key), events.ErrUnavailable) {
			d.add(slices.Collect(maps.Keys(due))...)
			return false
		}
		delete(due, key)
	}
	return true
}

// nowAndAgain does something at once and again after each pause, until ctx ends.
func nowAndAgain(ctx context.Context, pause time.Duration, do func(ctx context.Context)) {
	tick := time.NewTicker(pause)
	defer tick.Stop()
	for {
		do(ctx)
		select {
		case <-tick.C:
		case <-ctx.Done():
			return
		}
	}
}
