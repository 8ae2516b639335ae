package demo

import (
	"context"
	"crypto/sha256"

	"relevel/events"
	"relevel/jobs"
)

// Draft is a book in memory. It folds what is recorded exactly as a server
// would, so that a history can be made before there is a server to send it to.
type Draft struct {
	Job    events.ID
	Events []events.Incoming
	Photos map[events.Digest][]byte

	phone  *Phone
	stored []events.Stored
	state  *jobs.State
}

// NewDraft starts an empty book of a job, written on a phone.
func NewDraft(job events.ID, phone *Phone) *Draft {
	return &Draft{Job: job, Photos: map[events.Digest][]byte{}, phone: phone, state: jobs.New(job)}
}

// Record implements Book.
func (d *Draft) Record(_ context.Context, e Entry) (events.ID, error) {
	seq := int64(len(d.stored))
	in, err := d.phone.Seal(d.Job, seq, e)
	if err != nil {
		return events.ID{}, err
	}
	d.Events = append(d.Events, in)
	d.stored = append(d.stored, events.Stored{Event: in.Event, Seq: seq + 1, RecordedAt: in.Event.At, Raw: in.Raw})
	if !jobs.Fold(d.state, d.stored[seq]) {
		d.state = jobs.Refold(d.Job, d.stored)
	}
	return in.Event.ID, nil
}

// Keep implements Book.
func (d *Draft) Keep(_ context.Context, jpeg []byte) error {
	d.Photos[sha256.Sum256(jpeg)] = jpeg
	return nil
}

// Picture implements Book.
func (d *Draft) Picture(context.Context) (jobs.Picture, error) {
	last := d.stored[len(d.stored)-1]
	return d.state.Picture(last.At), nil
}
