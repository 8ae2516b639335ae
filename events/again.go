package events

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"time"

	"relevel/levelling"
)

// Again makes of a thing in quarantine the event that the desk records of it in
// a job: what it says, when and by whom it was said and its photos stay, as far
// as they can be read, and it names what it comes from. n is the number of the
// decision. Two desks that decide at once make the same event of it, so that it
// enters the log once.
func (q Quarantined) Again(job ID, n int) Event {
	was := q.Read()
	key, offset := q.Key(), int64(0)
	e := Event{
		ID: q.idFor("event", n), Job: job, Kind: was.Kind, V: max(was.V, 1), At: q.when(was), OffsetMS: &offset,
		Device: q.idFor("device", n), DeviceSeq: 1, By: was.By, Body: was.Body, From: key,
	}
	if was.Job == job {
		e.SeenSeq = max(was.SeenSeq, 0)
	}
	for _, f := range was.Files {
		if f.Check() == nil && len(e.Files) < maxFiles {
			e.Files = append(e.Files, f)
		}
	}
	return e
}

// Read returns what can be read of a thing in quarantine, field by field.
func (q Quarantined) Read() Event {
	in, _ := Receive(q.Raw) // the reason is known
	return in.Event
}

// when something was recorded, as well as can be told: by the device's clock and
// what it knew of its error, or else when it arrived.
func (q Quarantined) when(was Event) time.Time {
	at := was.At
	if at.IsZero() || at.Year() < 1970 || at.Year() > 9999 {
		return q.At
	}
	const most = int64(10 * 365 * 24 * time.Hour / time.Millisecond)
	if was.OffsetMS != nil && *was.OffsetMS > -most && *was.OffsetMS < most {
		at = at.Add(time.Duration(*was.OffsetMS) * time.Millisecond)
	}
	return at.Truncate(time.Millisecond)
}

// idFor makes an id that is the same wherever it is made. A device of its own
// keeps the event out of the order that other devices count in.
func (q Quarantined) idFor(what string, n int) ID {
	key := q.Key()
	sum := sha256.Sum256(fmt.Appendf(nil, "%s %s %d", what, key, n))
	var id ID
	copy(id[:], sum[:])
	ms := uint64(q.At.UnixMilli())
	for i := 5; i >= 0; i-- {
		id[i], ms = byte(ms), ms>>8
	}
	id[6], id[8] = id[6]&0x0f|0x70, id[8]&0x3f|0x80
	return id
}

// Acceptable says, as an InputError, why a thing in quarantine cannot be recorded
// again as it is; then its content is to be corrected. A kind that only a newer
// program knows can be.
func (q Quarantined) Acceptable() error {
	again := q.Again(ID{1}, 1)
	if err := again.check(); err != nil {
		return err
	}
	if again.Kind.OfCommand() {
		return levelling.Bad("kind", "of those that only the server's own command records")
	}
	if _, err := Open(again.Kind, again.V, again.Body); err != nil && !errors.Is(err, ErrNewer) {
		return err
	}
	if lost := len(q.Read().Files) - len(again.Files); lost > 0 {
		return levelling.Bad("files", fmt.Sprintf("%d of its photos cannot be told: record it anew", lost))
	}
	return nil
}
