package demo

import (
	"encoding/json"
	"fmt"
	"io"
	"time"

	"relevel/events"
)

// Phone is a device that records. It counts its events over all jobs.
type Phone struct {
	ID     events.ID
	Unsent int // records that are still on it, sealed after all that were sent

	last   time.Time // when it recorded last
	count  int64
	random io.Reader
}

// NewPhone makes a phone whose ids come from random.
func NewPhone(at time.Time, random io.Reader) (*Phone, error) {
	id, err := events.NewID(at, random)
	if err != nil {
		return nil, err
	}
	return &Phone{ID: id, random: random}, nil
}

// Lose counts records that never arrive.
func (p *Phone) Lose(records int64) { p.count += records }

// Seal writes an entry as the bytes that are sent, kept and hashed. seen is the
// last number of the job's log that the phone has applied.
func (p *Phone) Seal(job events.ID, seen int64, e Entry) (events.Incoming, error) {
	id, err := events.NewID(e.At, p.random)
	if err != nil {
		return events.Incoming{}, err
	}
	body, err := json.Marshal(e.Body)
	if err != nil {
		return events.Incoming{}, fmt.Errorf("write a %s: %w", e.Kind, err)
	}
	p.count++
	p.last = e.At
	var right int64 // its clock was compared with the server's, and agreed
	raw, err := json.Marshal(events.Event{
		ID: id, Job: job, Kind: e.Kind, V: 1, At: e.At, OffsetMS: &right, ClockSession: "1", Device: p.ID, DeviceSeq: p.count,
		SeenSeq: seen, By: e.By, Body: body, Files: e.Files,
	})
	if err != nil {
		return events.Incoming{}, fmt.Errorf("seal a %s: %w", e.Kind, err)
	}
	return events.Receive(raw)
}
