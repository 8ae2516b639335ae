package events

import (
	"context"
	"time"
)

// Ledger keeps what is known of each firm's files: what they are and how safely
// they are kept. It never holds the bytes.
//
// Durability. When Record or Change returns without an error, the entry is on
// disk; one that is recorded as received alone, which promises nothing, may be lost
// with the power until the next that is not. When it returns an error, the entry may or may not have changed, and
// the same call may be repeated.
//
// Isolation. Nothing of one firm is seen or changed by a call for another.
//
// Concurrency. All methods may be called from many goroutines and many
// processes at once.
type Ledger interface {
	// Record writes an entry. One that exists is replaced only by a higher
	// state, so that a slow upload cannot undo what a faster one has reached.
	Record(ctx context.Context, k Kept) error

	// Change replaces an entry that still has the state and time of was by one
	// of the same file, up or down. If somebody changed it meanwhile, or it is
	// gone, the answer is ErrConflict and nothing happens.
	Change(ctx context.Context, was, now Kept) error

	// Find returns the entry of a file, or ErrNotFound.
	Find(ctx context.Context, firm ID, file Digest) (Kept, error)

	// FindAll returns the entries of those of some files that have one, in no
	// order; of none it asks nobody.
	FindAll(ctx context.Context, firm ID, files []Digest) ([]Kept, error)

	// Oldest lists entries that have been in a state since before a time, the
	// one that has waited longest first.
	Oldest(ctx context.Context, q KeptQuery) ([]Kept, error)
}

// Kept is what the ledger knows of one file.
type Kept struct {
	Firm   ID
	SHA256 Digest
	Type   FileType
	Bytes  int64
	Media  string
	State  FileState
	At     time.Time // when the state was reached or last verified; milliseconds, UTC
	Reason string    // why the state fell back, for people; usually empty
}

// KeptQuery asks for the files that have been in State since before Before.
type KeptQuery struct {
	Firm   ID
	State  FileState
	Before time.Time
	Limit  int
}

// FileState says how safely a file is kept.
type FileState string

// The states of a file, from the least to the most.
const (
	FileReceived FileState = "received" // it arrived whole; whether it is kept is not known
	FileStored   FileState = "stored"   // the store took it and reports it at its full size
	FileDurable  FileState = "durable"  // read back and hashed again, or synced to disk
)

// Rank orders the states. An unknown state ranks below all.
func (s FileState) Rank() int {
	switch s {
	case FileReceived:
		return 1
	case FileStored:
		return 2
	case FileDurable:
		return 3
	}
	return 0
}

// Safe reports whether the bytes can be expected to be readable.
func (s FileState) Safe() bool { return s.Rank() >= FileStored.Rank() }
