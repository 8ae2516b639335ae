package server

import (
	"container/list"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io"
	"sync"
	"time"

	"relevel/events"
)

// maxDrafts is how many forms the desk remembers having taken in, so that a
// second press of a button stores nothing twice.
const maxDrafts = 2000

// desk records what is put in on pages. To each firm it is a device of its own: a
// count over several would tell one how much the others record. Each run of the
// server is another device, since its counts start anew.
type desk struct {
	now    func() time.Time
	random io.Reader

	mu      sync.Mutex
	devices map[events.ID]*deskDevice  // by firm
	drafts  map[draftKey]*list.Element // of *draft
	oldest  *list.List                 // the oldest in front
}

// deskDevice is what the desk is to one firm.
type deskDevice struct {
	id  events.ID
	seq int64 // of what it recorded last
}

// draftKey names a draft by its first event. What one firm sends is nothing to
// another, though the id be the same.
type draftKey struct{ firm, event events.ID }

// draft is one form that was taken in, as the events it was made into. While
// it is not known whether they were stored, the same bytes are sent again.
type draft struct {
	id     events.ID
	key    jobKey
	filled events.Digest // of what was filled in
	raws   []json.RawMessage
	onto   *int64 // what was decided stands only after so many events of the job
	saved  string // what to say about it, "" until it was stored
	warned string

	elsewhere bool // it was stored by another server, which may not have come to its files
}

func (d *draft) name() draftKey { return draftKey{d.key.firm, d.id} }

func newDesk(now func() time.Time, random io.Reader) *desk {
	return &desk{now: now, random: random, devices: map[events.ID]*deskDevice{}, drafts: map[draftKey]*list.Element{}, oldest: list.New()}
}

// newID makes an id for an event of a form that is shown.
func (d *desk) newID() (events.ID, error) { return events.NewID(d.now(), d.random) }

// entry is what a form was filled in with.
type entry struct {
	id     events.ID // of the first event, made when the form was shown
	key    jobKey
	kind   events.Kind
	by     events.ID
	seen   int64
	zone   *time.Location
	bodies []json.RawMessage
	files  []events.File
	decide bool          // it stands only if nothing was recorded since it was looked at
	again  *events.Event // when and by whom it was recorded, where it comes from what was kept apart
}

// digest tells two fillings of the same form apart.
func (e entry) digest() (events.Digest, error) {
	text, err := json.Marshal([]any{e.key.firm, e.key.job, e.kind, e.by, e.bodies, e.files})
	return sha256.Sum256(text), err
}

// take makes the events of a form, or finds those that were made of it before.
// A form that comes back changed, after an answer that never arrived, is a new
// one.
func (d *desk) take(e entry) (*draft, error) {
	filled, err := e.digest()
	if err != nil {
		return nil, fmt.Errorf("read what was filled in: %w", err)
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if at, ok := d.drafts[draftKey{e.key.firm, e.id}]; ok {
		if known := at.Value.(*draft); known.filled == filled {
			return known, nil
		}
		if e.id, err = d.newID(); err != nil {
			return nil, err
		}
	}
	made := &draft{id: e.id, key: e.key, filled: filled}
	if e.decide {
		made.onto = &e.seen
	}
	if err := d.write(made, e); err != nil {
		return nil, err
	}
	d.drafts[made.name()] = d.oldest.PushBack(made)
	for d.oldest.Len() > maxDrafts {
		gone := d.oldest.Remove(d.oldest.Front()).(*draft)
		delete(d.drafts, gone.name())
	}
	return made, nil
}

// write seals the events of a draft. The caller holds the lock.
func (d *desk) write(made *draft, e entry) (err error) {
	device, err := d.deviceOf(e.key.firm)
	if err != nil {
		return err
	}
	offset := int64(0) // the desk's clock is the server's
	for i, body := range e.bodies {
		event := events.Event{
			ID: e.id, Job: e.key.job, Kind: e.kind, V: 1, At: d.now().In(e.zone).Truncate(time.Millisecond), OffsetMS: &offset,
			Device: device.id, DeviceSeq: device.seq + 1, SeenSeq: e.seen, By: e.by, Body: body,
		}
		if e.again != nil {
			event.At, event.Device, event.DeviceSeq, event.From = e.again.At.In(e.zone), e.again.Device, int64(i)+1, e.again.From
		}
		if i == 0 {
			event.Files = e.files
		} else {
			event.ID = idAfter(e.id, i)
		}
		raw, err := json.Marshal(event)
		if err != nil {
			return fmt.Errorf("write an event: %w", err)
		}
		made.raws = append(made.raws, raw)
		if e.again == nil { // that has a device of its own
			device.seq++
		}
	}
	return nil
}

// idAfter is the id of an event that a form makes beside its first: the same whichever
// server takes the form in, so that none of them is in the log twice.
func idAfter(first events.ID, i int) events.ID {
	first[14] ^= byte(i >> 8)
	first[15] ^= byte(i)
	return first
}

// deviceOf is the device that the desk is to a firm. The caller holds the lock.
func (d *desk) deviceOf(firm events.ID) (*deskDevice, error) {
	if known, ok := d.devices[firm]; ok {
		return known, nil
	}
	id, err := d.newID()
	if err != nil {
		return nil, err
	}
	d.devices[firm] = &deskDevice{id: id}
	return d.devices[firm], nil
}

// knows reports whether a form was taken in here.
func (d *desk) knows(e entry) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	_, ok := d.drafts[draftKey{e.key.firm, e.id}]
	return ok
}

// takeStored notes a form that was taken in and stored elsewhere.
func (d *desk) takeStored(e entry) (*draft, error) {
	made, err := d.take(e)
	if err == nil {
		made.elsewhere = true
		d.stored(made, "Saved.", "")
	}
	return made, err
}

// stored notes what to say about a draft that was stored.
func (d *desk) stored(made *draft, saved, warned string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	made.saved, made.warned = saved, warned
}

// said is what to say about a form that was taken in. Another server, or this
// one after a new start, knows only that it was, and is not sure.
func (d *desk) said(key jobKey, id events.ID) (saved, warned string, sure bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if at, ok := d.drafts[draftKey{key.firm, id}]; ok {
		if made := at.Value.(*draft); made.key == key {
			return made.saved, made.warned, true
		}
	}
	return "Saved.", "", false
}

// isStored reports whether a draft is known to be stored.
func (d *desk) isStored(made *draft) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return made.saved != ""
}
