package events

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// Limits of one append. A phone splits what it has into batches of this size.
const (
	MaxBatchEvents = 500
	MaxBatchBytes  = 1 << 20
)

// The sentinels that stores answer with. Adapters translate their drivers'
// errors into these by code or type, never by text.
var (
	// ErrNotFound: nothing of that name is kept for this firm. It is the same
	// whether the thing is another firm's or nobody's.
	ErrNotFound = errors.New("not found")
	// ErrUnavailable: the store cannot be reached or cannot answer now. Nothing
	// was acknowledged; the same call with the same ids may be repeated.
	ErrUnavailable = errors.New("store unavailable")
	// ErrUnknown is an ErrUnavailable of what was under way: whether it was stored is
	// not known, because the connection broke while it was committed, or because the
	// commit stopped waiting for a standby. Nothing was acknowledged; the same call with
	// the same ids finds out.
	ErrUnknown = fmt.Errorf("outcome unknown: %w", ErrUnavailable)
	// ErrTooLarge: more than the stated limit.
	ErrTooLarge = errors.New("too large")
	// ErrConflict: the thing exists already and differs.
	ErrConflict = errors.New("conflict")
)

// Log keeps the events of jobs, in order of receipt, for ever.
//
// Order. Each job's events are numbered seq = 1, 2, 3, … without a gap, in the
// order in which they became durable. A reader that has read up to n and asks
// for what follows n never misses an event that appears later.
//
// Durability. When Append returns without an error, every result whose Outcome
// is WasStored or WasRepeated is on disk and survives the loss of power. When
// it returns an error, nothing of the batch was acknowledged; it may or may not
// be stored, and repeating the same batch finds out without harm.
//
// Repeats. An event is known by (firm, job, id). The same id with the same
// bytes is answered with the seq it was stored under, and nothing is added. The
// same id with other bytes is quarantined: the first version stays as it is.
// This holds within one batch as well.
//
// Concurrency. All methods may be called from many goroutines and many
// processes at once.
//
// Isolation. Nothing of one firm is seen or changed by a call for another.
type Log interface {
	// Create starts an empty log for a job. Starting one that exists changes
	// nothing and is no error.
	Create(ctx context.Context, firm, job ID) error

	// Append stores a batch in the order given, in one commit, and answers with
	// one Result for each event, in the same order. A job without a log is
	// ErrNotFound; more than MaxBatchEvents or MaxBatchBytes is ErrTooLarge.
	// An event that names another job than the batch is quarantined. Where the
	// batch says onto how many events it is to follow and the log has others, a
	// batch with anything new in it stores nothing and is ErrConflict.
	Append(ctx context.Context, b Batch) (Receipt, error)

	// Read returns up to limit events with seq > after, ascending. Fewer than
	// limit means that the end was reached at that moment.
	Read(ctx context.Context, firm, job ID, after int64, limit int) ([]Stored, error)

	// Leaves returns up to limit leaves with seq > after, ascending, as Read does
	// events. They stay when bytes are erased.
	Leaves(ctx context.Context, firm, job ID, after int64, limit int) ([]Hash, error)

	// Head returns the state of a job's tree.
	Head(ctx context.Context, firm, job ID) (Head, error)

	// Seqs returns the number of the last event of each of some jobs of a firm. What
	// has no log is left out.
	Seqs(ctx context.Context, firm ID, jobs []ID) (map[ID]int64, error)

	// Quarantine keeps what cannot enter a log, with the reason. Repeating it
	// with the same bytes, job and reason keeps one copy.
	Quarantine(ctx context.Context, q Quarantined) error

	// Quarantined lists what is kept under a firm, newest first, up to limit.
	Quarantined(ctx context.Context, firm ID, limit int) ([]Quarantined, error)

	Desk
}

// Batch is what one Append stores.
type Batch struct {
	Firm, Job  ID
	RecordedAt time.Time // the server's clock; kept to the millisecond
	Events     []Incoming
	Onto       *int64 // the log's last number when this was decided; nil: whatever it is by now
}

// Receipt answers a batch. Seq and Root are those of the job after it.
type Receipt struct {
	Results []Result
	Head    Head
}

// Result says what became of one event of a batch.
type Result struct {
	ID      ID
	Outcome Outcome
	Seq     int64  // 0 unless stored
	Reason  string // for people; set when quarantined
}

// Outcome of one event of a batch.
type Outcome string

// The outcomes.
const (
	WasStored      Outcome = "stored"      // new, now durable
	WasRepeated    Outcome = "repeated"    // these bytes were stored before, under Seq
	WasErased      Outcome = "erased"      // this id was stored, and its bytes were since erased
	WasQuarantined Outcome = "quarantined" // kept apart, see Reason
)

// Head is the state of a job's tree after Seq events.
type Head struct {
	Seq      int64
	Root     Hash
	Frontier Frontier
}

// Quarantined is something a device sent that has no place in a log. It is
// kept for the office to look at; nothing vanishes.
type Quarantined struct {
	Firm      ID
	Job       ID // as the sender named it; need not exist
	EventID   ID // zero if unreadable
	Device    ID // zero if unreadable
	DeviceSeq int64
	At        time.Time // when the server received it
	Reason    string
	Raw       []byte
}
