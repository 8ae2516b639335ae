package pglog

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"sync"
	"sync/atomic"

	"github.com/jackc/pgx/v5"

	"relevel/events"
	"relevel/events/pgdb"
)

// Bounds of one flush: what one statement takes in reasonable time.
const (
	maxFlushJobs  = 64
	maxFlushBytes = events.MaxBatchBytes
)

// gate lets the appends of one firm to different jobs share a statement and
// its commit. An append that finds nothing under way starts at once; those that
// come meanwhile gather and go together when it returns. Nobody waits for
// company, and a job is in a flush once at most, because its line admits one
// append at a time.
type gate struct {
	flushes atomic.Int64

	mu      sync.Mutex
	waiting map[events.ID][]*waiting // of firms with a flush under way
}

// waiting is one append that supposes its job's head.
type waiting struct {
	job  events.ID
	was  int64
	plan events.Arranged
	done chan struct{}

	moved bool // its events are durable
	err   error
}

func newGate() *gate { return &gate{waiting: make(map[events.ID][]*waiting)} }

// pass appends as part of some flush and returns when that has ended.
func (g *gate) pass(ctx context.Context, db *pgdb.DB, firm events.ID, w *waiting) (moved bool, err error) {
	g.mu.Lock()
	gathered, busy := g.waiting[firm]
	if busy {
		g.waiting[firm] = append(gathered, w)
	} else {
		g.waiting[firm] = nil
	}
	g.mu.Unlock()
	if !busy {
		g.run(ctx, db, firm, []*waiting{w})
	}
	<-w.done
	return w.moved, w.err
}

// next starts a flush of what has gathered. It runs beside the caller, whose
// own append is done, and on behalf of none of the requests it serves.
func (g *gate) next(db *pgdb.DB, firm events.ID) {
	g.mu.Lock()
	defer g.mu.Unlock()
	gathered := g.waiting[firm]
	if len(gathered) == 0 {
		delete(g.waiting, firm)
		return
	}
	n := fit(gathered)
	g.waiting[firm] = append([]*waiting(nil), gathered[n:]...)
	go g.run(context.Background(), db, firm, gathered[:n])
}

// run sends one flush and starts the next, also when a bug ends it.
func (g *gate) run(ctx context.Context, db *pgdb.DB, firm events.ID, all []*waiting) {
	defer g.next(db, firm)
	g.flushes.Add(1)
	flushTogether(ctx, db, firm, all)
}

// fit counts how many go into one flush: at least one.
func fit(gathered []*waiting) int {
	bytes := 0
	for i, w := range gathered {
		for _, e := range w.plan.New {
			bytes += len(e.Raw)
		}
		if i > 0 && (bytes > maxFlushBytes || i == maxFlushJobs) {
			return i
		}
	}
	return len(gathered)
}

// errTogether hides an error of a flush of several from those it may not be
// about: each then goes the longer way by itself and meets its own.
var errTogether = errors.New("the flush failed for one of its jobs")

func flushTogether(ctx context.Context, db *pgdb.DB, firm events.ID, all []*waiting) {
	// Every server locks the heads in one order, so that none waits in a ring.
	slices.SortFunc(all, func(a, b *waiting) int { return bytes.Compare(a.job[:], b.job[:]) })
	f := flush{firm: firm, body: queryable}
	var moved []events.ID
	err := errors.New("the flush did not end")
	defer func() { tell(all, moved, err) }()
	for _, w := range all {
		f.add(w.job, w.was, w.plan)
	}
	err = db.Write(ctx, firm, func(b *pgx.Batch) { f.queue(b, &moved) })
	if err != nil && len(all) > 1 && !errors.Is(err, events.ErrUnavailable) {
		err = errTogether
	}
}

// tell lets go of those who waited for a flush.
func tell(all []*waiting, moved []events.ID, err error) {
	for _, w := range all {
		w.moved, w.err = err == nil && slices.Contains(moved, w.job), err
		close(w.done)
	}
}
