// Package census counts over all firms what somebody who runs the servers has to know:
// numbers and ages alone. It looks now and then, in the background, so that asking for
// the figures costs the database nothing.
package census

import (
	"context"
	"log/slog"
	"sync"
	"time"

	"relevel/server/watch"
)

// Most is how far anything is counted. A figure that reaches it is at least that.
const Most = 100_000

// Census is what was counted at one moment.
type Census struct {
	At time.Time // by the clock of the server

	Received Waiting // photos that arrived and may not be kept
	Stored   Waiting // photos that the store took and that were not read back yet
	Damaged  int     // photos that were kept, and are not any more; they are among those received

	Tasks []Tasks // by kind, in its order

	Unsent    Waiting // phones that have records to send, and the age of the oldest record
	Gaps      int     // phones of whose numbers some are missing
	Missing   int64   // those numbers, of all phones
	Doubts    int64   // places and datums in doubt, of all jobs
	Apart     int     // records that were kept apart, looked at or not
	Disagreed int     // times that a log was found not to be what was signed
}

// Waiting is how many of something wait, and since when the first does.
type Waiting struct {
	Count  int
	Oldest time.Time // zero where none waits
}

// Tasks are those of one kind. Each is in one of the counts.
type Tasks struct {
	Kind    string
	Due     int // nobody has claimed them yet
	Later   int // due at a later time, never tried
	Running int
	Failing int // that failed and are due again later
	Dead    int // not tried again

	OldestDue time.Time // zero where none is due
}

// Reader counts every so often and keeps what it found. Make one with NewReader.
type Reader struct {
	count  func(context.Context) (Census, error)
	every  time.Duration
	now    func() time.Time
	logger *slog.Logger

	mu     sync.Mutex
	last   Census
	failed bool
}

// Usual is how often a Reader counts, and the time that one count may take.
const (
	Usual    = 20 * time.Second
	patience = 10 * time.Second
	stale    = 5 * Usual // figures that are older say nothing of now
)

// NewReader makes a reader of what count finds. It counts nothing before Run.
func NewReader(count func(context.Context) (Census, error), logger *slog.Logger) *Reader {
	return &Reader{count: count, every: Usual, now: time.Now, logger: logger}
}

// Run counts until ctx ends.
func (r *Reader) Run(ctx context.Context) {
	ctx, _ = watch.Begin(ctx, slog.String(watch.Work, "census"))
	tick := time.NewTicker(r.every)
	defer tick.Stop()
	for {
		r.look(ctx)
		select {
		case <-tick.C:
		case <-ctx.Done():
			return
		}
	}
}

// look counts once. Of failures one after the other the first is told.
func (r *Reader) look(ctx context.Context) {
	within, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	found, err := r.count(within)
	r.mu.Lock()
	defer r.mu.Unlock()
	if err != nil {
		if !r.failed && ctx.Err() == nil {
			r.logger.WarnContext(ctx, "nothing was counted over all firms", "err", err)
		}
		r.failed = true
		return
	}
	found.At = r.now()
	r.last, r.failed = found, false
}

// Latest is what was counted last, and whether it says anything of now.
func (r *Reader) Latest() (last Census, fresh bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.last, !r.last.At.IsZero() && r.now().Sub(r.last.At) < stale
}
