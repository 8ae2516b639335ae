package demo

import (
	"context"
	"crypto/sha256"
	"slices"

	"relevel/cmd/relevel/client"
	"relevel/events"
	"relevel/jobs"
)

// Online is a book on a server. Each entry is sent at once, and what is decided
// next rests on the figures in the answer.
type Online struct {
	Sent int // events that were acknowledged

	client *client.Client
	job    events.ID
	phone  *Phone
	known  jobs.Picture
	stale  bool // the answer to the last entry does not tell all it changed
}

// NewOnline opens the book of a job that the server has, to be written on a phone.
func NewOnline(c *client.Client, job events.ID, phone *Phone) *Online {
	return &Online{client: c, job: job, phone: phone, stale: true}
}

// Record implements Book.
func (o *Online) Record(ctx context.Context, e Entry) (events.ID, error) {
	in, err := o.phone.Seal(o.job, o.known.Seq, e)
	if err != nil {
		return events.ID{}, err
	}
	receipt, err := o.client.Append(ctx, o.job, []events.Incoming{in})
	if err != nil {
		return events.ID{}, err
	}
	o.Sent++
	o.known.Seq = receipt.Seq
	o.take(receipt.Supports)
	o.stale = o.stale || changesMore(e.Kind)
	return in.Event.ID, nil
}

// changesMore tells the kinds that change more of a job than the figures of
// the supports they touch.
func changesMore(k events.Kind) bool {
	return slices.Contains([]events.Kind{events.KindPlan, events.KindFound, events.KindAim, events.KindVoid, events.KindStop, events.KindGoAhead}, k)
}

func (o *Online) take(figures []jobs.Support) {
	for _, f := range figures {
		if i := slices.IndexFunc(o.known.Supports, func(s jobs.Support) bool { return s.ID == f.ID }); i >= 0 {
			o.known.Supports[i] = f
		}
	}
}

// Keep implements Book.
func (o *Online) Keep(ctx context.Context, jpeg []byte) error {
	return o.client.PutPhoto(ctx, sha256.Sum256(jpeg), jpeg)
}

// Picture implements Book. It asks the server only when the answers so far do
// not say enough.
func (o *Online) Picture(ctx context.Context) (jobs.Picture, error) {
	if o.stale {
		if err := o.Refresh(ctx); err != nil {
			return jobs.Picture{}, err
		}
	}
	return o.known, nil
}

// Refresh asks the server for the whole state.
func (o *Online) Refresh(ctx context.Context) error {
	p, err := o.client.State(ctx, o.job)
	if err != nil {
		return err
	}
	o.known, o.stale = p, false
	return nil
}
