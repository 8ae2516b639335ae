package jobs

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"relevel/events"
)

// Site time is when something happened, as well as can be told: the device's
// time plus the offset of its clock session, raised to that of the device's
// event before. It is worked out here and stored nowhere, since a late event
// can correct it.
//
// The order of a job's events is (site time, device, counter, id). It is total,
// it does not depend on the order of arrival, and it never breaks a device's
// own order.

// sortKey is an event's place in the order.
type sortKey struct {
	at      time.Time
	device  events.ID
	counter int64
	id      events.ID
}

func (k sortKey) compare(o sortKey) int {
	return cmp.Or(k.at.Compare(o.at), bytes.Compare(k.device[:], o.device[:]),
		cmp.Compare(k.counter, o.counter), bytes.Compare(k.id[:], o.id[:]))
}

// session names one run of a device's clock between two adjustments.
type session struct {
	device events.ID
	name   string
}

// offset is what the first event of a session that says one says.
type offset struct {
	counter int64
	ms      int64
	known   bool
}

// clocks holds what must be remembered to place the next event.
type clocks struct {
	sessions map[session]offset
	devices  map[events.ID]sortKey // the last event of each
	last     sortKey               // of all
}

func newClocks() clocks {
	return clocks{sessions: map[session]offset{}, devices: map[events.ID]sortKey{}}
}

func sessionOf(e events.Stored) session { return session{e.Device, e.ClockSession} }

// learn takes the offset an event carries, if it is the first of its session.
func (c clocks) learn(e events.Stored) {
	s := c.sessions[sessionOf(e)]
	if e.OffsetMS == nil || (s.known && s.counter <= e.DeviceSeq) {
		return
	}
	c.sessions[sessionOf(e)] = offset{e.DeviceSeq, *e.OffsetMS, true}
}

// relearns tells whether learning from an event changes what was known of the
// clock that events before it were placed by.
func (c clocks) relearns(e events.Stored) bool {
	s, seen := c.sessions[sessionOf(e)]
	return e.OffsetMS != nil && seen && (!s.known || s.counter > e.DeviceSeq)
}

// key places an event after what its device did before it.
func (c clocks) key(e events.Stored) sortKey {
	at := corrected(e.At, c.sessions[sessionOf(e)].ms)
	if before, any := c.devices[e.Device]; any && at.Before(before.at) {
		at = before.at.In(e.At.Location())
	}
	return sortKey{at, e.Device, e.DeviceSeq, e.ID}
}

// The first and the last site time there is. Beyond them a time cannot be
// written as JSON in every zone, and one wild clock would hide a whole job.
var (
	earliest = time.Date(2, 1, 1, 0, 0, 0, 0, time.UTC)
	latest   = time.Date(9998, 1, 1, 0, 0, 0, 0, time.UTC)
)

// maxOffset is the greatest offset a Duration can hold, ms.
const maxOffset = math.MaxInt64 / int64(time.Millisecond)

// corrected adds an offset to a device's time.
func corrected(at time.Time, ms int64) time.Time {
	zone := at.Location()
	at = at.Add(time.Duration(max(-maxOffset, min(ms, maxOffset))) * time.Millisecond)
	switch {
	case at.Before(earliest):
		return earliest.In(zone)
	case at.After(latest):
		return latest.In(zone)
	}
	return at
}

// follows tells whether an event comes after everything seen so far without
// changing the place of any of it.
func (c clocks) follows(e events.Stored) bool {
	s, seen := c.sessions[sessionOf(e)]
	if e.OffsetMS != nil && seen && (!s.known || e.DeviceSeq < s.counter) {
		return false // moves earlier events of its session
	}
	before, any := c.devices[e.Device]
	if any && before.counter >= e.DeviceSeq {
		return false
	}
	return c.next(e).compare(c.last) > 0
}

// next is the key an event would get, with the offset it carries itself.
func (c clocks) next(e events.Stored) sortKey {
	if _, seen := c.sessions[sessionOf(e)]; e.OffsetMS != nil && !seen {
		c.sessions = map[session]offset{sessionOf(e): {e.DeviceSeq, *e.OffsetMS, true}}
	}
	return c.key(e)
}

// take advances past an event that was placed at k.
func (c *clocks) take(e events.Stored, k sortKey) {
	if _, seen := c.sessions[sessionOf(e)]; !seen {
		c.sessions[sessionOf(e)] = offset{}
	}
	c.devices[e.Device] = k
	c.last = k
}

// placed is an event with its site time.
type placed struct {
	events.Stored
	key sortKey
}

// arrange puts a set of events in order.
func arrange(all []events.Stored) []placed {
	c := newClocks()
	for _, e := range all {
		c.learn(e)
	}
	byCounter := slices.Clone(all)
	slices.SortFunc(byCounter, func(a, b events.Stored) int {
		return cmp.Or(bytes.Compare(a.Device[:], b.Device[:]), cmp.Compare(a.DeviceSeq, b.DeviceSeq), bytes.Compare(a.ID[:], b.ID[:]))
	})
	out := make([]placed, len(all))
	for i, e := range byCounter {
		k := c.key(e)
		c.devices[e.Device] = k
		out[i] = placed{e, k}
	}
	slices.SortFunc(out, func(a, b placed) int { return a.key.compare(b.key) })
	return out
}

// maxAhead is how far a site time may lie after its receipt before it is worth
// a word: the time a message travels, and a little disagreement of clocks.
const maxAhead = 2 * time.Minute

// unchecked is how long before its receipt an event of an unchecked clock may
// say it happened: a phone may be without signal for a day.
const unchecked = 24 * time.Hour

// flagClock says what is odd about an event's time. Nothing is refused or
// moved for it.
func (s *State) flagClock(e placed) {
	if ahead := e.key.at.Sub(e.RecordedAt); ahead > maxAhead {
		s.flag(e, "its time is "+about(ahead)+" later than its receipt: the device's clock was wrong")
	}
	first := s.clocks.sessions[sessionOf(e.Stored)]
	switch {
	case !first.known && e.RecordedAt.Sub(e.key.at) > unchecked:
		s.flag(e, "the device's clock is unchecked, and its time is "+about(e.RecordedAt.Sub(e.key.at))+" before its receipt")
	case first.known && first.counter == e.DeviceSeq && (first.ms > hourMS || first.ms < -hourMS):
		off := corrected(e.At, first.ms).Sub(e.At).Abs()
		s.flag(e, "the device's clock was off by "+about(off)+"; its times are corrected")
	}
}

const hourMS = int64(time.Hour / time.Millisecond)

// about words a length of time.
func about(d time.Duration) string {
	switch {
	case d >= 48*time.Hour:
		return fmt.Sprintf("%d days", int(d.Round(24*time.Hour).Hours()/24))
	case d >= 2*time.Hour:
		return fmt.Sprintf("%d hours", int(d.Round(time.Hour).Hours()))
	}
	return fmt.Sprintf("%d minutes", int(d.Round(time.Minute).Minutes()))
}
