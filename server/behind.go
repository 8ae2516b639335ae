package server

import (
	"context"
	"log/slog"
	"time"

	"relevel/server/watch"
)

const (
	behindPause = 250 * time.Millisecond // between two rounds of what pages show
	behindRest  = time.Second            // of what nobody waits for
	behindRetry = 5 * time.Second        // after one that failed
	behindLast  = 5 * time.Second        // for what is left at the end
)

// behind does work behind the requests, and once for many of them.
type behind struct {
	name string                            // under which it stands in the log
	work func(context.Context) (done bool) // takes all that is due; what is not done stays due
	rest time.Duration                     // between two rounds: the first begins at once
	wake chan struct{}                     // holds one
}

func newBehind(name string, work func(context.Context) bool) *behind {
	return &behind{name: name, work: work, rest: behindPause, wake: make(chan struct{}, 1)}
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
		pause := b.rest
		if !b.work(ctx) {
			pause = behindRetry
		}
		select {
		case <-time.After(pause):
		case <-ctx.Done():
		}
	}
}
