// Package events defines what can happen on a re-levelling job, how an event
// is written down, and the stores that keep events and their photos.
//
// An event is a fact recorded by somebody at some time. It is never edited: a
// mistake is voided by a later event. The bytes a phone sealed are kept exactly
// as they came, and every hash is taken over those bytes.
package events

import (
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"relevel/levelling"
)

// Event is the envelope of one thing that happened. The phone makes all of it;
// the server adds what Stored holds.
type Event struct {
	ID           ID              `json:"id"`
	Job          ID              `json:"job"`
	Kind         Kind            `json:"kind"`
	V            int             `json:"v"`  // version of the kind's payload, from 1
	At           time.Time       `json:"at"` // the device's own clock, with its zone
	OffsetMS     *int64          `json:"offset_ms,omitempty"`
	ClockSession string          `json:"clock_session,omitempty"`
	Device       ID              `json:"device"`
	DeviceSeq    int64           `json:"device_seq"` // counts over all jobs of a device, from 1
	SeenSeq      int64           `json:"seen_seq"`   // the last server number of this job the device had applied
	By           ID              `json:"by"`         // a person, by id only
	Body         json.RawMessage `json:"body"`
	Files        []File          `json:"files,omitempty"`
	From         Digest          `json:"from,omitzero"` // recorded again by the desk: the key of what was kept apart
}

// File is a photo or a sound an event refers to. The digest is of the bytes
// that are sent, so that the event vouches for the file.
type File struct {
	Type    FileType  `json:"type"` // photo or sound
	SHA256  Digest    `json:"sha256"`
	Bytes   int64     `json:"bytes"`
	Media   string    `json:"media_type"`
	Subject string    `json:"subject,omitempty"` // a support, room or cut of the plan, or free words
	Stage   Stage     `json:"stage,omitempty"`
	TakenAt time.Time `json:"taken_at,omitzero"`
}

// FileType tells photos from sound.
type FileType string

// The types of file an event can carry.
const (
	Photo FileType = "photo"
	Sound FileType = "sound"
)

// Stage says when in the work a file was taken.
type Stage string

// The stages of a file.
const (
	Before Stage = "before"
	During Stage = "during"
	After  Stage = "after"
)

// Incoming is one event as it arrived: its envelope and the exact bytes.
type Incoming struct {
	Event Event
	Raw   []byte
}

// Stored is one event of a log. Raw is nil and Erased true once its bytes were
// erased at somebody's request; its leaf stays, so proofs still hold.
type Stored struct {
	Event
	Seq        int64
	RecordedAt time.Time // when the server received it, milliseconds, UTC
	Leaf       Hash
	Salt       []byte
	Raw        []byte
	Erased     bool
}

// maxFiles bounds what one event may refer to; a step with more photos is
// recorded as several notes.
const (
	maxFiles     = 40
	tooManyFiles = "at most 40 on one event"
)

// maxVersion is far above any version there will be.
const maxVersion = 9999

// Receive reads the envelope of one event from the bytes a device sent. It
// keeps raw as it is. The error is an InputError that names the field; an event
// that fails here has no place in a log and belongs in quarantine. The body is
// not looked at: whether it makes sense is decided by the fold, and a body that
// makes none is still a fact that somebody recorded it. With an error comes
// what could be read, so that the quarantine knows which device it was.
func Receive(raw []byte) (Incoming, error) {
	in := Incoming{Raw: raw}
	if err := json.Unmarshal(raw, &in.Event); err != nil {
		in.Event, err = salvage(raw)
		return in, err
	}
	return in, in.Event.check()
}

func (e Event) check() error {
	switch {
	case e.ID.IsZero():
		return levelling.Bad("id", "missing: a UUID made by the device")
	case e.Job.IsZero():
		return levelling.Bad("job", "missing: the id of the job")
	case !e.Kind.wellFormed():
		return levelling.Bad("kind", "missing, or not a word of small letters, digits and hyphens: for example \"reading\"")
	case e.V < 1 || e.V > maxVersion:
		return levelling.Bad("v", "missing or out of range: the version of the kind's payload, from 1")
	case e.At.IsZero() || e.At.Year() < 1970 || e.At.Year() > 9999:
		return levelling.Bad("at", "missing or not a date: the device's time with its zone, as 2026-03-02T10:15:00.000+11:00")
	case e.Device.IsZero():
		return levelling.Bad("device", "missing: the id of the device")
	case e.DeviceSeq < 1:
		return levelling.Bad("device_seq", "missing: the device's own count of events, from 1")
	case e.SeenSeq < 0:
		return levelling.Bad("seen_seq", "cannot be negative")
	case len(e.ClockSession) > 64:
		return levelling.Bad("clock_session", "at most 64 characters")
	case len(e.Body) == 0 || e.Body[0] != '{':
		return levelling.Bad("body", "missing: an object")
	case len(e.Files) > maxFiles:
		return levelling.Bad("files", tooManyFiles)
	}
	for i, f := range e.Files {
		if err := f.Check(); err != nil {
			var bad *levelling.InputError
			errors.As(err, &bad)
			return levelling.Bad(fmt.Sprintf("files[%d].%s", i, bad.Field), bad.Cure)
		}
	}
	return nil
}
