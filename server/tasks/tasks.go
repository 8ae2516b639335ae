// Package tasks does work that is due behind the requests, on any of several servers.
//
// The queue is a hint and not the truth: whoever adds tasks can find from the log what
// is missing and add it again, so that a task may be done twice and a lost one is made
// anew. Handlers are therefore written to be repeated.
package tasks

import (
	"context"
	"time"

	"relevel/events"
)

// Task is one piece of work.
type Task struct {
	Firm     events.ID
	ID       events.ID
	Kind     string // what sort of work, by the name under which its handler is known
	Ref      string // what about, in ids; nothing a person wrote
	Due      time.Time
	Attempts int       // how often it was claimed, this time included
	Lease    time.Time // until when it is the claimer's; tells one claim from another
	Failed   string    // how the last attempt ended, "" for the first
}

// Queue keeps tasks. A firm has each (kind, ref) once.
//
// Concurrency. All methods may be called from many goroutines and many processes at
// once. A task is claimed by one of them at a time, for as long as its lease lasts; a
// change under a lease that was lost is events.ErrNotFound and changes nothing.
//
// Isolation. Add, Dead and Drop are of one firm. The rest looks over all firms and
// sees nothing of them but tasks.
type Queue interface {
	// Add makes tasks of a firm due. One that waits for its turn is due at the
	// earlier time; one that waits after a failure goes on waiting; one that is
	// being done is done once more afterwards; a dead one stays dead.
	Add(ctx context.Context, firm events.ID, due ...Task) error

	// Claim takes up to c.Limit tasks that are due, the longest due first. A lease that
	// lasts longer than two of c's would was taken by a clock that was ahead, and counts
	// as over: else a claimer that is gone would keep its task until that time comes.
	Claim(ctx context.Context, c Claim) ([]Task, error)

	// Extend makes a lease last longer and returns the task with it.
	Extend(ctx context.Context, t Task, until time.Time) (Task, error)

	// Finish ends a task, unless it was added again since it was claimed: then it
	// is due again, as if it had never been tried.
	Finish(ctx context.Context, t Task) error

	// Retry gives a task back, due at a later time.
	Retry(ctx context.Context, t Task, r Retry) error

	// Bury ends all attempts. The task stays to be looked at, and is not done.
	Bury(ctx context.Context, t Task, reason string) error

	// Dead lists the buried tasks of a firm, by kind and ref.
	Dead(ctx context.Context, firm events.ID) ([]Task, error)

	// Drop takes a firm's tasks of a kind whose ref begins with a prefix out of
	// the queue, buried or not. What is being done goes on.
	Drop(ctx context.Context, firm events.ID, kind, prefix string) error
}

// Claim says what somebody is ready to do.
type Claim struct {
	Now    time.Time
	Until  time.Time // of the lease
	Kinds  []string
	Except []events.ID // firms that have their share already
	Limit  int
}

// Retry says when a task is to be tried again.
type Retry struct {
	Due    time.Time
	Reason string
	Free   bool // the attempt does not count: it was broken off by us
}
