package jobs

import (
	"context"

	"relevel/events"
)

// Summaries hold what pages over many jobs show of each: one row a job, and one a
// day it was worked on. They can be made again from the log, and unlike the rest may
// be lost with the power.
type Summaries interface {
	// SaveSummary writes a job's row, and its diary in place of what that was,
	// unless a row of the same version and a later seq is there already.
	SaveSummary(ctx context.Context, s Summary) error
	// ListSummaries returns the rows of some jobs of a firm, of all where none is
	// named, by job and without their diaries.
	ListSummaries(ctx context.Context, firm events.ID, of ...events.ID) ([]Summary, error)
	// ListLatest returns how far each of a firm's jobs is.
	ListLatest(ctx context.Context, firm events.ID) (map[events.ID]Latest, error)
	// ListFolded returns the firm's jobs that are open, or those that are closed,
	// the newest first, with how far their rows are.
	ListFolded(ctx context.Context, firm events.ID, closed bool) ([]Folded, error)
	// ListDiary returns what was done from one day to another, both in it and
	// written as 2026-03-02, by day and job.
	ListDiary(ctx context.Context, firm events.ID, from, to string) ([]DayOf, error)
}

// Summary is what a page over many jobs shows of one of them.
type Summary struct {
	Firm    events.ID
	Job     events.ID
	Seq     int64 // of the last event folded; behind the head while work waits
	Version int   // SummaryVersion of the program that wrote it
	Brief   Brief
	Small   string // the small plan, as the server draws it
	Diary   []Day  // by day; only to be saved
}

// Latest is how far a job is, for those who look whether something changed.
type Latest struct {
	Seq      int64 // of its row; -1 where it has none
	Revision int   // of its particulars
}

// DayOf is a day of a job.
type DayOf struct {
	Job events.ID
	Day
}

// Folded is a job and how far its row is.
type Folded struct {
	Job
	Seq     int64
	Version int // 0 where there is no row
}
