package jobs

import (
	"context"
	"time"

	"relevel/events"
)

// Packs are the printed accounts of jobs that somebody asked for. A pack is known by
// what it is made from: whoever asks for the same again is shown the one that is there.
type Packs interface {
	// AskPack asks for a pack and returns the one that is there now: the one that was
	// asked for before, with its own id, unless making it failed. Then it waits again.
	// asked says that it is to be made.
	AskPack(ctx context.Context, p Pack) (now Pack, asked bool, err error)
	FindPack(ctx context.Context, firm, id events.ID) (Pack, error)
	// ListPacks returns those of a job, the newest first.
	ListPacks(ctx context.Context, firm, job events.ID) ([]Pack, error)
	// MarkPack says how far a pack is. One that was made stays as it was made.
	MarkPack(ctx context.Context, firm, id events.ID, s PackStanding) error
	// ForgetPacks takes packs of a job out of the list and returns those: all but the
	// newest of each paper that keep says, of those that are made or failed. Their
	// files are the caller's to delete. One keeps none where somebody's data is erased.
	ForgetPacks(ctx context.Context, firm, job events.ID, keep int) ([]Pack, error)
}

// Pack is one printed account of a job.
type Pack struct {
	Firm  events.ID
	ID    events.ID
	Job   events.ID
	Paper string
	UpTo  int64         // the number of the last event of the record that it tells
	Basis events.Digest // of all else that it is made from: names, words, the layout
	Asked time.Time
	PackStanding
}

// PackStanding is how far a pack is.
type PackStanding struct {
	Page, Pages int // begun, of so many; 0 while nobody began
	Made        time.Time
	File        events.Digest // where it was made
	Bytes       int64
	Failed      string // in words for those who wait; "" where it is made or waits
}

// Ready reports whether a pack can be taken away.
func (s PackStanding) Ready() bool { return !s.Made.IsZero() }

// Waits reports whether somebody is to make it, or is making it.
func (s PackStanding) Waits() bool { return !s.Ready() && s.Failed == "" }
