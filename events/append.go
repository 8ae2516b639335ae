package events

import (
	"encoding/json"
	"fmt"
	"maps"
	"time"

	"relevel/levelling"
)

// Salt hides what a commitment is to. Each event has its own.
type Salt [16]byte

// Known is what a log holds under an event's id. Salt is nil once the event's
// bytes were erased.
type Known struct {
	Seq        int64
	Kind       Kind
	RecordedAt time.Time
	Leaf       Hash
	Salt       []byte
}

// Arranged is what an append of a batch comes to: what to store, what to keep
// apart, and what to answer once both are durable.
type Arranged struct {
	Receipt Receipt
	New     []Stored
	Apart   []Quarantined
}

// Check reports what no log takes: an ErrTooLarge beyond the limits, or an
// InputError.
func (b Batch) Check() error {
	if len(b.Events) > MaxBatchEvents {
		return fmt.Errorf("%w: %d events, at most %d at once", ErrTooLarge, len(b.Events), MaxBatchEvents)
	}
	bytes := 0
	for _, e := range b.Events {
		bytes += len(e.Raw)
	}
	switch {
	case bytes > MaxBatchBytes:
		return fmt.Errorf("%w: %d bytes, at most %d at once", ErrTooLarge, bytes, MaxBatchBytes)
	case b.Firm.IsZero():
		return levelling.Bad("firm", "missing")
	case b.Job.IsZero():
		return levelling.Bad("job", "missing")
	}
	return nil
}

// Follows reports, as ErrConflict, that something came between what somebody
// looked at and what he decided. What is in the log already is no news and
// conflicts with nothing, so that a batch may be repeated.
func (b Batch) Follows(head Head, a Arranged) error {
	if b.Onto == nil || len(a.New) == 0 || *b.Onto == head.Seq {
		return nil
	}
	return fmt.Errorf("decided after event %d of %d: %w", *b.Onto, head.Seq, ErrConflict)
}

// Arrange decides what becomes of each event of a batch that follows head. It
// is told what the log already knows under the ids of the batch, and takes a
// salt for each event. It changes nothing.
func (b Batch) Arrange(head Head, known map[ID]Known, salts []Salt) Arranged {
	a := arranger{batch: b, known: maps.Clone(known), at: b.RecordedAt.UTC().Truncate(time.Millisecond)}
	if a.known == nil {
		a.known = make(map[ID]Known, len(b.Events))
	}
	a.out.Receipt.Head = head
	a.out.Receipt.Results = make([]Result, len(b.Events))
	a.out.New = make([]Stored, 0, len(b.Events))
	for i, e := range b.Events {
		a.out.Receipt.Results[i] = a.place(e, salts[i])
	}
	if len(a.out.New) > 0 {
		a.out.Receipt.Head.Root = a.out.Receipt.Head.Frontier.Root()
	}
	return a.out
}

type arranger struct {
	batch Batch
	at    time.Time
	known map[ID]Known
	out   Arranged
}

func (a *arranger) place(e Incoming, salt Salt) Result {
	if e.Event.Job != a.batch.Job {
		return a.setApart(e, "it names another job than the one it was sent to")
	}
	known, exists := a.known[e.Event.ID]
	switch {
	case !exists:
		return a.add(e, salt)
	case known.Salt == nil:
		return Result{ID: e.Event.ID, Outcome: WasErased, Seq: known.Seq}
	case a.same(known, e):
		return Result{ID: e.Event.ID, Outcome: WasRepeated, Seq: known.Seq}
	default:
		return a.setApart(e, fmt.Sprintf("another event with this id is number %d of the job; that one stays as it is", known.Seq))
	}
}

func (a *arranger) add(e Incoming, salt Salt) Result {
	head := &a.out.Receipt.Head
	known := Known{Seq: head.Seq + 1, Kind: e.Event.Kind, RecordedAt: a.at, Salt: salt[:]}
	known.Leaf = a.leaf(known, e)
	head.Frontier = head.Frontier.Grow(head.Seq, known.Leaf)
	head.Seq = known.Seq
	a.known[e.Event.ID] = known
	a.out.New = append(a.out.New, Stored{
		Event: e.Event, Seq: known.Seq, RecordedAt: a.at, Leaf: known.Leaf, Salt: known.Salt, Raw: e.Raw,
	})
	return Result{ID: e.Event.ID, Outcome: WasStored, Seq: known.Seq}
}

// same recognises the bytes that were stored before by making their leaf again.
func (a *arranger) same(known Known, e Incoming) bool {
	return a.leaf(known, e) == known.Leaf
}

func (a *arranger) leaf(known Known, e Incoming) Hash {
	return Leaf{
		Firm: a.batch.Firm, Job: a.batch.Job, Seq: known.Seq, ID: e.Event.ID,
		Kind: known.Kind, RecordedAt: known.RecordedAt, Commitment: Commit(known.Salt, e.Raw),
	}.Hash()
}

func (a *arranger) setApart(e Incoming, reason string) Result {
	a.out.Apart = append(a.out.Apart, Quarantined{
		Firm: a.batch.Firm, Job: e.Event.Job, EventID: e.Event.ID,
		Device: e.Event.Device, DeviceSeq: e.Event.DeviceSeq,
		At: a.at, Reason: reason, Raw: e.Raw,
	})
	return Result{ID: e.Event.ID, Outcome: WasQuarantined, Reason: reason}
}

// Restore builds what Read answers for one event from what a store keeps of it.
// raw is nil once erased; then only what the log itself knows is left. Bytes
// that were taken in once stay readable whatever later programs refuse, so they
// are not checked again.
func Restore(job, id ID, v int, known Known, raw []byte) Stored {
	s := Stored{Seq: known.Seq, RecordedAt: known.RecordedAt.UTC(), Leaf: known.Leaf, Salt: known.Salt, Raw: raw}
	if raw == nil {
		s.Erased = true
	} else if err := json.Unmarshal(raw, &s.Event); err != nil {
		s.Event = Event{}
	}
	s.Event.ID, s.Event.Job, s.Event.Kind, s.Event.V = id, job, known.Kind, v
	return s
}
