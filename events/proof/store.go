package proof

import (
	"context"
	"time"

	"relevel/events"
)

// Store keeps what was signed, what was found not to agree with it, and the keys by
// which anybody can check. Nothing in it is changed or removed, but that a key is
// retired.
//
// All methods may be called from many goroutines and many processes at once. On
// return without an error a change is durable. Nothing of one firm is seen or changed
// by a call for another: what is another firm's or nobody's is events.ErrNotFound. A
// store that cannot be reached is events.ErrUnavailable.
type Store interface {
	Checkpoints
	FirmLog
	Keys
}

// Checkpoints are those of the logs of jobs.
type Checkpoints interface {
	// KeepCheckpoint keeps one that was signed. A log has one of each size: keeping
	// another with the same root changes nothing, the first note stays; one with
	// another root is events.ErrConflict.
	KeepCheckpoint(ctx context.Context, firm, job events.ID, k Kept) error

	// FindCheckpoint returns the one of a size.
	FindCheckpoint(ctx context.Context, firm, job events.ID, size int64) (Kept, error)

	// LastCheckpoint returns the largest.
	LastCheckpoint(ctx context.Context, firm, job events.ID) (Kept, error)

	// LastSizes says how large the last checkpoint is of each of these jobs that
	// has one.
	LastSizes(ctx context.Context, firm events.ID, jobs []events.ID) (map[events.ID]int64, error)

	// KeepFault keeps that a log does not agree with a checkpoint. The first finding
	// about each stays.
	KeepFault(ctx context.Context, f Fault) error

	// ListFaults returns those of a job, the smallest checkpoint first.
	ListFaults(ctx context.Context, firm, job events.ID) ([]Fault, error)
}

// FirmLog is a firm's log of the checkpoints of its jobs: it shows that none of them
// was left out or signed another time.
type FirmLog interface {
	// Unlogged returns the last checkpoint of every job whose last one is not in the
	// log yet, as entries of which only Seq and Leaf are missing, by job.
	Unlogged(ctx context.Context, firm events.ID) ([]Entry, error)

	// ExtendFirmLog adds entries, in the order of their Seq, and the checkpoint that
	// was signed over all, in one commit. Where the log does not end right before
	// the first of them nothing is kept and it is events.ErrConflict.
	ExtendFirmLog(ctx context.Context, firm events.ID, more []Entry, k Kept) error

	// ListEntries returns up to limit entries with Seq > after, ascending.
	ListEntries(ctx context.Context, firm events.ID, after int64, limit int) ([]Entry, error)

	// LastFirmCheckpoint returns the largest.
	LastFirmCheckpoint(ctx context.Context, firm events.ID) (Kept, error)
}

// Keys are those of the servers, of no firm.
type Keys interface {
	// KeepKey makes a key known, or says until when it was in use. When it was made
	// known first, and when it was said first to be retired, stay.
	KeepKey(ctx context.Context, k PublicKey) error

	// ListKeys returns all, the oldest first.
	ListKeys(ctx context.Context) ([]PublicKey, error)
}

// Kept is a checkpoint as the store keeps it. Whoever takes it from there still checks
// that the note says the same as the rest.
type Kept struct {
	Size     int64
	Frontier events.Frontier // of the tree at that size; its root is what was signed
	Note     []byte
	At       time.Time // to the millisecond
}

// Fault says that a log does not agree with a checkpoint that was signed.
type Fault struct {
	Firm, Job events.ID
	Held      int64 // the size of the checkpoint
	Size      int64 // of the log, when it was found
	Root      events.Hash
	Why       string // for people
	At        time.Time
}

// Entry is one checkpoint of a job in the firm's log.
type Entry struct {
	Seq  int64
	Job  events.ID
	Size int64
	Leaf events.Hash // over the bytes of its note
	Note []byte
}
