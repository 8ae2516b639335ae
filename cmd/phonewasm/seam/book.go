package seam

import (
	"encoding/json"
	"slices"
	"time"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// book is one job as a phone knows it: what the server numbered, and what this
// phone recorded and the server has not yet.
type book struct {
	job    events.ID
	sent   map[events.ID]bool
	top    int64           // the greatest number of the server's
	own    []events.Stored // unsent, in the order they were recorded
	all    []events.Stored // numbered
	replay *jobs.Replay    // of both; nil when numbers have changed
}

func newBook(job events.ID) *book {
	return &book{job: job, sent: map[events.ID]bool{}, replay: jobs.NewReplay(job)}
}

// counts is what a book holds.
type counts struct {
	Seq    int64 `json:"seq"`    // the greatest number of the server's
	Unsent int   `json:"unsent"` // events of this phone's that the server has not numbered
}

func (b *book) counts() counts { return counts{b.top, len(b.own)} }

// listed is one event as the server lists it.
type listed struct {
	Seq        int64           `json:"seq"`
	RecordedAt time.Time       `json:"recorded_at"`
	Event      json.RawMessage `json:"event"`
	Erased     bool            `json:"erased"`
}

func (b *book) take(raw json.RawMessage) error {
	var l listed
	if err := json.Unmarshal(raw, &l); err != nil {
		return levelling.Bad("events", "as the server lists them; "+err.Error())
	}
	if l.Seq < 1 {
		return levelling.Bad("events.seq", "the server's number, 1 or more")
	}
	in, err := b.receive(l.Event)
	if err != nil {
		return err
	}
	e := events.Stored{Event: in, Seq: l.Seq, RecordedAt: l.RecordedAt, Erased: l.Erased}
	if b.sent[e.ID] {
		return nil // heard before
	}
	b.sent[e.ID] = true
	b.all = append(b.all, e)
	b.top = max(b.top, e.Seq)
	switch i := slices.IndexFunc(b.own, func(o events.Stored) bool { return o.ID == e.ID }); {
	case i >= 0:
		b.own, b.replay = slices.Delete(b.own, i, i+1), nil
	case len(b.own) > 0:
		b.replay = nil // the numbers lent to those that were not sent are taken now
	case b.replay != nil:
		b.replay.Add(e)
	}
	return nil
}

func (b *book) record(raw json.RawMessage) error {
	in, err := b.receive(raw)
	if err != nil {
		return err
	}
	if b.sent[in.ID] || slices.ContainsFunc(b.own, func(o events.Stored) bool { return o.ID == in.ID }) {
		return nil
	}
	e := b.lent(in, len(b.own))
	b.own = append(b.own, e)
	if b.replay != nil {
		b.replay.Add(e)
	}
	return nil
}

func (b *book) receive(raw json.RawMessage) (events.Event, error) {
	in, err := events.Receive(raw)
	switch {
	case err != nil:
		return in.Event, err
	case in.Event.Job != b.job:
		return in.Event, levelling.Bad("job", "the job of its events")
	}
	return in.Event, nil
}

// lent gives an event that was not sent yet the number it would have if the server
// heard of nothing else first, and its own time as that of receipt. Numbers decide
// no order; they tell what somebody had seen.
func (b *book) lent(e events.Event, i int) events.Stored {
	return events.Stored{Event: e, Seq: b.top + 1 + int64(i), RecordedAt: e.At}
}

// fold is the state of all of it.
func (b *book) fold() *jobs.State {
	if b.replay == nil {
		b.replay = jobs.NewReplay(b.job)
		for _, e := range b.all {
			b.replay.Add(e)
		}
		for i, e := range b.own {
			b.own[i] = b.lent(e.Event, i)
			b.replay.Add(b.own[i])
		}
	}
	return b.replay.State()
}
